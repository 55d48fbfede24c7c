"""The Weibull law against closed forms and SciPy's distribution."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.laws.weibull import WeibullLaw

shapes = st.floats(0.3, 8)
scales = st.floats(1, 1e6)


@settings(max_examples=40, deadline=None)
@given(shapes, scales, st.floats(0.01, 5))
def test_law_equals_scipys_distribution(shape: float, scale: float, reduced: float) -> None:
    from scipy.stats import weibull_min

    law, other, at = WeibullLaw(shape, scale), weibull_min(shape, scale=scale), reduced * scale
    assert law.survival(at) == pytest.approx(other.sf(at), rel=1e-9, abs=1e-300)
    if other.sf(at) > 1e-300:
        assert law.hazard(at) == pytest.approx(other.pdf(at) / other.sf(at), rel=1e-6)
    assert law.quantile(0.1) == pytest.approx(other.ppf(0.1))
    assert law.median == pytest.approx(other.median())


def test_shape_one_is_a_constant_rate() -> None:
    law = WeibullLaw(1, 50)
    assert law.hazard([1, 10, 1000]).tolist() == pytest.approx([0.02] * 3)
    assert law.cumulative_hazard([0, 50, 100]).tolist() == pytest.approx([0, 1, 2])


@settings(max_examples=40, deadline=None)
@given(shapes, scales, st.floats(0, 0.999))
def test_quantile_undoes_survival(shape: float, scale: float, share: float) -> None:
    law = WeibullLaw(shape, scale)
    assert law.survival(law.quantile(share)) == pytest.approx(1 - share, abs=1e-9)


def test_arrays_keep_their_shape_and_clock_below_zero_is_sound() -> None:
    law = WeibullLaw(2, 10)
    assert law.survival(np.array([[-5, 0], [10, 20]])).shape == (2, 2)
    assert law.survival(-5) == 1


@pytest.mark.parametrize("bad", [0, -1, float("nan"), float("inf")])
def test_law_refuses_parameters_that_are_no_positive_number(bad: float) -> None:
    with pytest.raises(ValueError, match="Weibull shape must be"):
        WeibullLaw(bad, 1)
    with pytest.raises(ValueError, match="Weibull scale must be"):
        WeibullLaw(1, bad)


def test_hazard_at_zero_and_shares_outside_are_refused() -> None:
    law = WeibullLaw(0.5, 10)
    with pytest.raises(ValueError, match="above 0; got 0"):
        law.hazard([0, 5])
    for share in (-0.1, 1.0):
        with pytest.raises(ValueError, match="share of failed lives"):
            law.quantile(share)

"""The lognormal law against SciPy's distribution."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import lognorm

from garage.lifetimes.laws.lognormal import LognormalLaw


@given(st.floats(0.1, 5), st.floats(1e-3, 1e7), st.floats(-6, 6))
def test_law_equals_scipys_distribution(sigma: float, median: float, z: float) -> None:
    law, other = LognormalLaw(median, sigma), lognorm(sigma, scale=median)
    at = median * np.exp(sigma * z)
    assert law.survival(at) == pytest.approx(other.sf(at), rel=1e-9)
    assert law.hazard(at) == pytest.approx(other.pdf(at) / other.sf(at), rel=1e-9)
    assert law.quantile(0.1) == pytest.approx(other.ppf(0.1), rel=1e-9)
    assert law.quantile(0.5) == pytest.approx(law.median, rel=1e-12)


def test_far_tails_keep_their_digits() -> None:
    # Mills ratio by its continued fraction, far out: hazard of z at 40 is about z + 1 / z
    # (Abramowitz and Stegun 26.2.14, from memory).
    law = LognormalLaw(1.0, 1.0)
    at = np.exp(40.0)
    assert law.hazard(at) * at == pytest.approx(40 + 1 / 40, rel=1e-4)
    assert law.cumulative_hazard(np.exp(-30.0)) == pytest.approx(4.906713927e-198, rel=1e-6)


def test_arrays_keep_their_shape_and_clock_below_zero_is_sound() -> None:
    law = LognormalLaw(100.0, 0.5)
    assert law.survival([[-5.0, 0.0], [100.0, 1e9]]).tolist()[0] == [1.0, 1.0]
    assert law.cumulative_hazard([[0.0]]).shape == (1, 1)
    assert float(law.quantile(0.0)) == 0.0


def test_hazard_at_clock_zero_is_refused() -> None:
    law = LognormalLaw(100.0, 0.5)
    assert np.isfinite(law.log_hazard(0.5))
    with pytest.raises(ValueError, match="above 0; got 0"):
        law.log_hazard([0.5, 0.0])


def test_share_of_one_has_no_quantile() -> None:
    law = LognormalLaw(100.0, 0.5)
    assert law.quantile(0.999) > 100
    for share in (1.0, -0.1, np.nan):
        with pytest.raises(ValueError, match="a share of failed lives"):
            law.quantile(share)


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
def test_parameter_that_is_no_number_above_zero_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="a lognormal median must be"):
        LognormalLaw(bad, 0.5)
    with pytest.raises(ValueError, match="a lognormal sigma must be"):
        LognormalLaw(100.0, bad)

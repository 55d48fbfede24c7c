"""The log-logistic law against SciPy's distribution and its closed form."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisk

from garage.lifetimes.laws.loglogistic import LogLogisticLaw


@given(st.floats(0.2, 10), st.floats(1e-3, 1e7), st.floats(0.01, 3))
def test_law_equals_scipys_distribution(shape: float, median: float, reduced: float) -> None:
    law, other, at = LogLogisticLaw(median, shape), fisk(shape, scale=median), reduced * median
    assert law.survival(at) == pytest.approx(other.sf(at), rel=1e-9)
    # Its density over its survival loses digits far out; the closed form is held below.
    assert law.hazard(at) == pytest.approx(other.pdf(at) / other.sf(at), rel=1e-5)
    assert law.quantile(0.1) == pytest.approx(other.ppf(0.1), rel=1e-9)


@given(st.floats(0.2, 10), st.floats(0.01, 20))
def test_hazard_equals_its_closed_form(shape: float, reduced: float) -> None:
    # (shape / t) * u / (1 + u), u = (t / median) ** shape: from the definition.
    law, odds = LogLogisticLaw(50.0, shape), reduced**shape
    at = 50.0 * reduced
    assert law.hazard(at) == pytest.approx(shape / at * odds / (1 + odds), rel=1e-9)


@pytest.mark.parametrize(("shape", "turns"), [(1.0, False), (1.1, True)])
def test_hazard_rises_at_first_only_above_shape_one(shape: float, turns: bool) -> None:
    rate = LogLogisticLaw(100.0, shape).hazard(np.array([1e-6, 1.0]))
    assert bool(rate[1] > rate[0]) is turns


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
def test_parameter_that_is_no_number_above_zero_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="a log-logistic median must be"):
        LogLogisticLaw(bad, 0.5)
    with pytest.raises(ValueError, match="a log-logistic shape must be"):
        LogLogisticLaw(100.0, bad)

"""Estimates with limits: on the log scale, turned over, and cut before they overflow."""

import numpy as np
import pytest

from garage.lifetimes.laws import weibull_fit
from garage.lifetimes.laws.estimates import ParameterEstimate, log_scale_estimate


def test_wald_limits_are_symmetric_on_the_log_scale() -> None:
    found = log_scale_estimate(np.log(50.0), 0.04, (np.log(30.0), None), 0.95)
    assert (found.value, found.standard_error) == pytest.approx((50.0, 10.0))
    assert found.wald_lower == pytest.approx(50 * np.exp(-1.959964 * 0.2))
    assert found.wald_upper == pytest.approx(50 * np.exp(1.959964 * 0.2))
    assert found.lower == pytest.approx(30.0)
    assert found.upper is None


def test_turned_over_twice_is_the_estimate_itself() -> None:
    found = ParameterEstimate(2.0, 0.4, 1.0, 8.0, 1.25, 4.0)
    assert found.inverted().inverted() == found
    assert found.inverted().lower == 1 / 8


@pytest.mark.parametrize("log_value", [0.0, 20.0, -20.0])
def test_limit_too_wide_for_a_number_is_cut(log_value: float) -> None:
    found = log_scale_estimate(log_value, 1e6, (None, None), 0.95)
    assert np.isfinite([found.wald_lower, found.wald_upper, found.standard_error]).all()
    assert found.wald_lower < 1e-200
    assert found.wald_upper > 1e200


def test_estimate_can_still_be_imported_from_the_weibull_fit() -> None:
    assert weibull_fit.ParameterEstimate is ParameterEstimate

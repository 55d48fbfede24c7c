"""Survival predicted at a clock value: its limits by hand, and what is said at the ends."""

import numpy as np
import pytest
from scipy.stats import norm

from garage.lifetimes.comparison.predicted_hazard import PredictedHazard, predicted_hazard
from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import small_lives


def found_at(level: float = 0.95) -> PredictedHazard:
    return predicted_hazard(proportional_hazards(small_lives(), level=level), [1, 0.5])


@pytest.mark.parametrize("level", [0.95, 0.8])
@pytest.mark.parametrize("step", [0, 1, 5, 11])
def test_limits_lie_alike_about_the_logarithm_of_the_hazard(level: float, step: int) -> None:
    found = found_at(level)
    hazard, error = found.cumulative_hazard[step], found.standard_error[step]
    at = found.at(float(found.clock[step]))
    reach = norm.ppf((1 + level) / 2) * error / hazard
    assert at.value == pytest.approx(np.exp(-hazard))
    assert at.lower == pytest.approx(np.exp(-np.exp(np.log(hazard) + reach)))
    assert at.upper == pytest.approx(np.exp(-np.exp(np.log(hazard) - reach)))
    assert (at.status, at.reason) == (found.status, found.reason)


def test_value_holds_until_the_next_failure() -> None:
    found = found_at()
    assert found.at(7.5).value == found.at(7).value
    assert found.at(7.5).value != found.at(9).value


def test_ahead_of_the_first_failure_there_is_no_lower_limit() -> None:
    before = found_at().at(1.5)
    assert (before.value, before.lower, before.upper) == (1.0, None, 1.0)
    assert before.status is Status.NO_FAILURES
    assert "none failed so soon" in before.reason


def test_at_the_last_failure_there_is_a_figure_and_beyond_it_none() -> None:
    found = found_at()
    assert found.at(15).value is not None
    beyond = found.at(15.5)
    assert (beyond.value, beyond.lower, beyond.upper) == (None, None, None)
    assert (beyond.status, beyond.reason) == (Status.BEYOND_WATCH, "none failed beyond 15")

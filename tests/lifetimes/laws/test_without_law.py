"""Bounds that lives give which cannot carry a law."""

import numpy as np
import pytest
from scipy import stats

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from garage.lifetimes.laws.standard import LOGISTIC, NORMAL, SMALLEST_EXTREME
from garage.lifetimes.laws.without_law import rate_upper_bound, scale_lower_bound, shape_refused
from garage.lifetimes.status import Status


@pytest.mark.parametrize("failed", [0, 1, 5])
@pytest.mark.parametrize("level", [0.5, 0.95])
def test_rate_bound_leaves_the_count_its_chance(failed: int, level: float) -> None:
    bound = rate_upper_bound(failed, 2000.0, level)
    assert bound is not None
    assert stats.poisson(bound * 2000).cdf(failed) == pytest.approx(1 - level)


def test_nothing_watched_bounds_no_rate() -> None:
    assert rate_upper_bound(0, 0.0, 0.95) is None
    assert rate_upper_bound(0, 1e-9, 0.95) is not None


def test_scale_bound_of_a_constant_rate_in_closed_form() -> None:
    lives = IntervalLives([100, 200], [np.inf, np.inf], entry=[0, 50])
    likelihood = LogLikelihood.of(SMALLEST_EXTREME, LikelihoodRows.from_intervals(lives))
    bound = scale_lower_bound(likelihood, 1.0, 0.95)
    assert bound == pytest.approx(250 / -np.log(0.05))


@pytest.mark.parametrize("standard", [SMALLEST_EXTREME, NORMAL, LOGISTIC])
def test_scale_bound_of_one_life_is_where_its_survival_is_the_rest(standard: object) -> None:
    rows = LikelihoodRows.from_intervals(IntervalLives([100], [np.inf]))
    likelihood = LogLikelihood.of(standard, rows)  # type: ignore[arg-type]
    bound = scale_lower_bound(likelihood, 2.0, 0.9)
    assert bound is not None
    z = np.array([2.0 * np.log(100 / bound)])
    assert likelihood.standard.log_survival(z)[0] == pytest.approx(np.log(0.1))


@pytest.mark.parametrize(
    ("failed", "distances", "status"),
    [
        (1.0, np.array([10.0]), Status.FEW_FAILURES),
        (1.0, None, Status.FEW_FAILURES),
        (2.0, np.array([10.0]), Status.ONE_DISTANCE),
    ],
)
def test_too_little_for_a_shape_is_refused(
    failed: float, distances: np.ndarray | None, status: Status
) -> None:
    refused = shape_refused(failed, 20, distances, "km")
    assert refused is not None
    assert refused[0] is status


def test_two_distances_or_two_intervals_may_show_a_shape() -> None:
    assert shape_refused(2.0, 20, np.array([10.0, 11.0]), "km") is None
    assert shape_refused(2.0, 20, None, "km") is None

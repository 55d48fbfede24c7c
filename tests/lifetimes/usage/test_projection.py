"""Projected distances against simulated vehicles, hand counts and their own law."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.status import Status
from garage.lifetimes.usage.annual_distance import AnnualDistances, annual_distance
from garage.lifetimes.usage.projection import (
    ProjectedDistances,
    project_distance,
)
from garage.lifetimes.usage.spans import SHORTEST_YEARS
from garage.lifetimes.usage.yearly_change import YearlyChange, judged_change, yearly_change

CHANGE = YearlyChange(0.3, -0.1, 0.05, 0.02, 10.0, 50, 300, Status.OK, "")


def known(km_per_year: float = 15_000, log_sd: float = 0.2, n: int = 1) -> AnnualDistances:
    return AnnualDistances(np.full(n, km_per_year), np.full(n, log_sd), n, n, 0.5, Status.OK, "")


def test_figures_equal_a_hand_count() -> None:
    # Watched 4 years, projected 2: gap 3; 2 * 15 000 * exp(-0.3);
    # variance 0.04 + 0.09 / 2 + 9 * (0.0025 + 0.0004).
    found = project_distance(known(), [2.0], [4.0], CHANGE, level=0.9)
    assert found.km[0] == pytest.approx(30_000 * np.exp(-0.3))
    assert found.log_sd[0] == pytest.approx(np.sqrt(0.04 + 0.045 + 0.0261))
    reach = np.exp(1.6448536 * found.log_sd[0])
    assert (found.lower[0], found.upper[0]) == pytest.approx(
        (found.km[0] / reach, found.km[0] * reach)
    )
    assert found.quantile(0.05) == pytest.approx(found.lower)
    assert (found.status, found.n) == (Status.OK, 1)


def test_steady_change_goes_no_further_than_it_was_seen() -> None:
    far = project_distance(known(), [30.0], [0.0], CHANGE)
    assert far.km[0] == pytest.approx(30 * 15_000 * np.exp(-0.1 * 10))


def test_no_time_passed_is_no_distance_and_no_doubt() -> None:
    found = project_distance(known(), [0.0], [4.0], CHANGE)
    assert (found.km[0], found.lower[0], found.upper[0], found.log_sd[0]) == (0, 0, 0, 0)
    assert found.draw(np.random.default_rng(1)).tolist() == [0.0]


def test_scatter_of_a_few_days_is_that_of_a_quarter() -> None:
    days, quarter = (
        project_distance(known(), [each], [0.0], judged_change()) for each in (0.01, SHORTEST_YEARS)
    )
    assert days.log_sd[0] == quarter.log_sd[0]


@given(st.floats(0.3, 8), st.floats(0.3, 8), st.floats(0, 8))
def test_more_time_means_more_distance_where_nothing_changes(
    one: float, other: float, watched: float
) -> None:
    short, long = sorted((one, other))
    found = project_distance(known(n=2), [short, long], [watched, watched], judged_change())
    assert found.km[0] <= found.km[1]
    assert found.log_sd[0] >= found.log_sd[1]
    assert np.all((found.lower < found.km) & (found.km < found.upper))


def test_draws_have_the_law_that_the_limits_state() -> None:
    found = project_distance(known(n=40_000), np.full(40_000, 3.0), np.full(40_000, 2.0), CHANGE)
    drawn = found.draw(np.random.default_rng(7))
    assert drawn.shape == (40_000,)
    for share in (0.025, 0.5, 0.975):
        assert np.mean(drawn <= found.quantile(share)) == pytest.approx(share, abs=0.006)
    assert found.draw(np.random.default_rng(7)).tolist() == drawn.tolist()


def test_status_says_what_stands_in() -> None:
    judged = project_distance(known(), [1.0], [1.0], judged_change())
    assert (judged.status, "judged" in judged.reason) == (Status.FEW_CLUSTERS, True)
    fallback = annual_distance([0], [0], [0])
    nothing = project_distance(fallback, [1.0], [np.nan], CHANGE)
    assert nothing.status is Status.NO_LIVES
    assert "stands in for all" in nothing.reason


@pytest.mark.parametrize(
    ("years", "watched", "rule"),
    [
        ([1.0, 1.0], [1.0], "`years` holds one time"),
        ([1.0], [1.0, 1.0], "`watched_years` holds one time"),
        ([-1.0], [1.0], "never below 0"),
        ([1.0], [-1.0], "never below 0"),
        ([float("inf")], [1.0], "never below 0"),
        ([float("nan")], [1.0], "never below 0"),
    ],
)
def test_times_that_cannot_be_are_refused(
    years: list[float], watched: list[float], rule: str
) -> None:
    project_distance(known(), [1.0], [1.0], CHANGE)
    with pytest.raises(ValueError, match=rule):
        project_distance(known(), years, watched, CHANGE)


def test_quantile_that_is_none_is_refused() -> None:
    found = project_distance(known(), [1.0], [1.0], CHANGE)
    with pytest.raises(ValueError, match="between 0 and 1"):
        found.quantile(1.0)


def simulated(rng: np.random.Generator) -> tuple[ProjectedDistances, np.ndarray]:
    """Eighty vehicles read once a year for 1 to 7 years, then silent for 1 to 5."""
    n, years = 80, 12
    group = rng.integers(0, 2, n)
    level = np.log([12_000, 24_000])[group][:, None] + 0.5 * rng.standard_normal((n, 1))
    slope = -0.05 + 0.04 * rng.standard_normal((n, 1))
    rate = level + slope * np.arange(years) + 0.3 * rng.standard_normal((n, years))
    km = np.hstack([np.zeros((n, 1)), np.cumsum(np.exp(rate), axis=1)])
    watched, ahead = rng.integers(1, 8, n), rng.integers(1, 6, n)
    at = np.arange(years + 1)
    read = at <= watched[:, None]
    vehicle, time = np.nonzero(read)
    change = yearly_change(vehicle, time, km[read])
    each = np.arange(n)
    annual = annual_distance(km[each, watched], watched, group, year_log_sd=change.year_log_sd)
    gone = km[each, watched + ahead] - km[each, watched]
    return project_distance(annual, ahead, watched, change), gone


@pytest.mark.slow
def test_limits_hold_the_distance_gone_as_often_as_they_say() -> None:
    """200 workshops of 80 vehicles, 95 % limits: found 0.94 of the vehicles."""
    rng = np.random.default_rng(15)
    held = []
    for _ in range(200):
        found, gone = simulated(rng)
        held.append(np.mean((found.lower <= gone) & (gone <= found.upper)))
    assert float(np.mean(held)) == pytest.approx(0.94, abs=0.015)

"""Burn intervals: mean, trend, and when neither can be told."""

from itertools import accumulate, combinations, pairwise, permutations

import numpy as np
import pytest
from scipy import stats

from garage.evidence.drives.intervals import IntervalTrend, burn_intervals

FALLING = (600.0, 520.0, 540.0, 380.0, 310.0, 330.0, 230.0)
LEVEL = (405.0, 395.0, 400.0, 402.0, 398.0, 401.0, 399.0)
LOOSE = (200.0, 600.0, 350.0, 700.0, 250.0, 500.0, 420.0)


def odometers(gaps: tuple[float, ...]) -> list[float]:
    return list(accumulate(gaps, initial=150_000.0))


def _greater_less(gaps: tuple[float, ...]) -> int:
    return sum((b > a) - (b < a) for a, b in combinations(gaps, 2))


def test_slope_is_the_median_of_all_pairs() -> None:
    """A second way, as Theil and Sen define it."""
    slopes = [(FALLING[b] - FALLING[a]) / (b - a) for a, b in combinations(range(len(FALLING)), 2)]
    assert burn_intervals(odometers(FALLING)).slope_km == pytest.approx(np.median(slopes))


def test_p_value_is_the_share_of_all_orders_that_fall_or_rise_as_far() -> None:
    """A second way: all 5040 orders of seven counted, as Kendall's exact test defines it."""
    reached = abs(_greater_less(FALLING))
    share = np.mean([abs(_greater_less(each)) >= reached for each in permutations(FALLING)])
    assert burn_intervals(odometers(FALLING)).p_value == pytest.approx(share)


def test_mean_has_the_limits_of_student() -> None:
    """A second way: scipy.stats.t.interval."""
    found = burn_intervals(odometers(LOOSE))
    low, high = stats.t.interval(0.95, 6, np.mean(LOOSE), stats.sem(LOOSE))
    assert found.mean_km == pytest.approx(np.mean(LOOSE))
    assert (found.low_km, found.high_km) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    ("gaps", "trend"),
    [
        (FALLING, IntervalTrend.FALLING),
        (FALLING[::-1], IntervalTrend.RISING),
        (LEVEL, IntervalTrend.STEADY),
        ((400.0,) * 6, IntervalTrend.STEADY),
        (LOOSE, IntervalTrend.CANNOT_BE_TOLD),
    ],
)
def test_trend_of_intervals(gaps: tuple[float, ...], trend: IntervalTrend) -> None:
    """Fails if scatter passes for a trend, or for steady."""
    assert burn_intervals(odometers(gaps)).trend is trend


def test_four_intervals_show_no_trend_and_five_do() -> None:
    """Falling all the way, five have a chance of 2 in 120; four of 2 in 24, which is too much."""
    four = burn_intervals(odometers((600.0, 500.0, 400.0, 300.0)))
    assert (four.trend, four.p_value) == (IntervalTrend.CANNOT_BE_TOLD, None)
    five = burn_intervals(odometers((600.0, 500.0, 400.0, 300.0, 200.0)))
    assert five.trend is IntervalTrend.FALLING
    assert five.p_value == pytest.approx(2 / 120)


def test_one_interval_has_no_limits() -> None:
    """Fails if limits are made of one number."""
    found = burn_intervals([1000.0, 1400.0])
    assert (found.mean_km, found.low_km, found.high_km) == (400.0, None, None)


def test_intervals_are_kept_in_order() -> None:
    """Fails if they are sorted."""
    at = odometers(FALLING)
    assert burn_intervals(at).intervals_km == tuple(b - a for a, b in pairwise(at))


@pytest.mark.parametrize(
    "at", [[], [1000.0], [1000.0, 1000.0], [1000.0, 1400.0, 900.0], [1000.0, float("nan")]]
)
def test_burns_without_order_are_refused(at: list[float]) -> None:
    """Fails if a burn entered twice counts as an interval of 0."""
    with pytest.raises(ValueError, match="got"):
        burn_intervals(at)

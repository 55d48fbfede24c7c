"""Change between years: a known truth, a second way by least squares, and too little to tell."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.status import Status
from garage.lifetimes.usage.annual_distance import YEAR_LOG_SD
from garage.lifetimes.usage.yearly_change import judged_change, yearly_change

Readings = tuple[np.ndarray, np.ndarray, np.ndarray]


def world(
    vehicles: int, years: int, *, drift: float = -0.1, drift_sd: float = 0.05, seed: int = 3
) -> Readings:
    """Odometers once a year: own rate, own steady change, scatter 0.3 of single years."""
    rng = np.random.default_rng(seed)
    level = np.log(15_000) + 0.5 * rng.standard_normal((vehicles, 1))
    slope = drift + drift_sd * rng.standard_normal((vehicles, 1))
    rate = level + slope * np.arange(years) + 0.3 * rng.standard_normal((vehicles, years))
    km = np.cumsum(np.exp(rate), axis=1)
    km = np.hstack([np.zeros((vehicles, 1)), km])
    at = np.tile(np.arange(years + 1.0), vehicles)
    return np.repeat(np.arange(vehicles), years + 1), at, km.ravel()


def test_scatter_and_steady_change_are_found_again() -> None:
    found = yearly_change(*world(1_500, 8))
    assert found.year_log_sd == pytest.approx(0.3, abs=0.01)
    assert found.drift == pytest.approx(-0.1, abs=3 * found.drift_error)
    assert found.drift_sd == pytest.approx(0.05, abs=0.01)
    assert (found.n, found.intervals, found.seen_years) == (1_500, 12_000, 8.0)
    none = yearly_change(*world(1_500, 8, drift=0.0, drift_sd=0.0))
    assert abs(none.drift) < 3 * none.drift_error
    assert none.drift_sd < 0.02


def test_stated_error_of_the_steady_change_is_the_error_made() -> None:
    found = [yearly_change(*world(40, 5, seed=seed)) for seed in range(60)]
    away = [(each.drift + 0.1) / each.drift_error for each in found]
    assert float(np.sqrt(np.mean(np.square(away)))) == pytest.approx(1, abs=0.25)


def test_even_years_without_differing_lines_equal_least_squares() -> None:
    # Second way: one line a vehicle by NumPy's polyfit; equal lengths weigh alike.
    code, at, km = world(30, 6, drift_sd=0.0)
    slopes, squares = [], 0.0
    for number in range(30):
        rate = np.log(np.diff(km[code == number]))
        line = np.polyfit(np.arange(6), rate, 1)
        slopes.append(line[0])
        squares += float(np.sum((rate - np.polyval(line, np.arange(6))) ** 2))
    found = yearly_change(code, at, km)
    assert found.year_log_sd == pytest.approx(np.sqrt(squares / (30 * 4)))
    assert found.drift == pytest.approx(np.mean(slopes))


def test_weekly_readings_are_thinned_to_years() -> None:
    code, at, km = world(30, 6)
    weekly = np.arange(6 * 52 + 1) / 52
    filled = np.concatenate([np.interp(weekly, at[:7], km[code == each]) for each in range(30)])
    often = yearly_change(np.repeat(np.arange(30), len(weekly)), np.tile(weekly, 30), filled)
    once = yearly_change(code, at, km)
    assert (often.year_log_sd, often.drift) == pytest.approx((once.year_log_sd, once.drift))
    assert often.intervals == once.intervals


@given(st.randoms(use_true_random=False), st.floats(0.2, 5), st.floats(-50, 50))
def test_order_unit_and_first_day_do_not_matter(
    shuffler: object, factor: float, first_day: float
) -> None:
    code, at, km = world(12, 5)
    order = list(range(len(code)))
    shuffler.shuffle(order)  # type: ignore[attr-defined]
    one = yearly_change(code, at, km)
    other = yearly_change(code[order] * 7, at[order] + first_day, km[order] * factor)
    assert (other.year_log_sd, other.drift) == pytest.approx((one.year_log_sd, one.drift), rel=1e-6)


@pytest.mark.parametrize(("vehicles", "years"), [(9, 6), (12, 3), (400, 1), (0, 3)])
def test_too_little_to_tell_gives_the_judged_change_and_says_so(vehicles: int, years: int) -> None:
    found = yearly_change(*world(vehicles, years))
    assert found.status is Status.FEW_CLUSTERS
    assert (found.year_log_sd, found.drift, found.drift_sd) == (YEAR_LOG_SD, 0.0, 0.0)
    assert "judged" in found.reason
    assert yearly_change(*world(12, 4)).status is Status.OK


def test_no_readings_give_the_judged_change() -> None:
    assert yearly_change([], [], []) == judged_change()


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (lambda code, at, km: (code, at, np.where(at == 3, 0, km)), "never falls"),
        (lambda code, at, km: (code, at[1:], km), "a reading; got shapes"),
        (lambda code, at, km: (code, np.where(at == 3, np.nan, at), km), "finite"),
    ],
)
def test_readings_that_cannot_be_are_refused(change: Callable[..., Readings], rule: str) -> None:
    readings = world(12, 4)
    yearly_change(*readings)
    with pytest.raises(ValueError, match=rule):
        yearly_change(*change(*readings))

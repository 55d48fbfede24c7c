"""Annual distances against simulated truth, hand counts and the laws of shrinking."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.status import Status
from garage.lifetimes.usage.annual_distance import (
    FALLBACK_KM_PER_YEAR,
    YEAR_LOG_SD,
    annual_distance,
)


def world(
    vehicles: int = 3000, spread: float = 0.6
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """True rates, measured distances, years and groups (of which group 1 goes twice as far)."""
    rng = np.random.default_rng(8)
    group = rng.integers(0, 2, vehicles)
    true = np.exp(np.log([12_000, 24_000])[group] + spread * rng.standard_normal(vehicles))
    years = rng.choice([0.0, 0.3, 1.0, 4.0], vehicles)
    noise = YEAR_LOG_SD / np.sqrt(np.where(years > 0, years, 1)) * rng.standard_normal(vehicles)
    return true, true * np.exp(noise) * years, years, group


def test_spread_and_group_means_are_found_again() -> None:
    _, distance, years, group = world()
    found = annual_distance(distance, years, group)
    assert found.vehicle_log_sd == pytest.approx(0.6, abs=0.03)
    unmeasured = years == 0
    for number, rate in enumerate((12_000, 24_000)):
        mine = found.km_per_year[unmeasured & (group == number)]
        assert mine == pytest.approx(rate, rel=0.06)
    assert found.measured == int((years > 0).sum())


def test_stated_doubt_is_the_error_made() -> None:
    true, distance, years, group = world()
    found = annual_distance(distance, years, group)
    for span in (0.0, 0.3, 1.0, 4.0):
        at = years == span
        error = (np.log(found.km_per_year[at]) - np.log(true[at])) / found.log_sd[at]
        assert float(np.sqrt(np.mean(error**2))) == pytest.approx(1, abs=0.08)


def test_shrinking_errs_less_than_the_own_distance_and_than_the_groups() -> None:
    true, distance, years, group = world()
    short = years == 0.3
    found = np.log(annual_distance(distance, years, group).km_per_year)

    def error(guess: np.ndarray) -> float:
        return float(np.sqrt(np.mean((guess[short] - np.log(true[short])) ** 2)))

    own = np.log(distance / np.where(years > 0, years, 1) + 1e-9)
    of_group = np.log([12_000.0, 24_000.0])[group]
    assert error(found) < 0.9 * min(error(own), error(of_group))


def test_two_vehicles_and_an_unmeasured_one_equal_a_hand_count() -> None:
    # Rates 15 000 and 10 000 over 4 and 2 years: noise 0.35**2 / 4 and / 2; the spread s solves
    # log(1.5)**2 = 0.0306 + 0.0613 + 2 s, so s = 0.0363.
    spread = (np.log(1.5) ** 2 - 0.35**2 * 0.75) / 2
    weight = 1 / (0.35**2 / np.array([4, 2]) + spread)
    mean = weight @ np.log([15_000, 10_000]) / weight.sum()
    found = annual_distance([60_000, 20_000, 0], [4, 2, 0], [0, 0, 0])
    assert found.vehicle_log_sd == pytest.approx(spread**0.5)
    assert found.km_per_year[2] == pytest.approx(np.exp(mean))
    own = mean + spread * weight * (np.log([15_000, 10_000]) - mean)
    assert found.km_per_year[:2] == pytest.approx(np.exp(own))


def test_longer_watch_keeps_more_of_the_own_distance() -> None:
    # Twenty like vehicles and one at three times their rate, watched shortly or long.
    def outlier(years: float) -> float:
        distance = [12_000 * 2 * (0.7 + 0.03 * k) for k in range(20)] + [36_000 * years]
        return float(annual_distance(distance, [2.0] * 20 + [years], [0] * 21).km_per_year[-1])

    assert 11_000 < outlier(0.1) < outlier(1) < outlier(10) < 36_000


def test_group_without_a_measured_vehicle_gets_the_common_mean_with_more_doubt() -> None:
    distance = [20_000, 22_000, 30_000, 33_000, 5]
    found = annual_distance(distance, [2, 2, 2, 2, 0], [0, 0, 1, 1, 2])
    assert 10_500 < found.km_per_year[4] < 15_800
    assert found.log_sd[4] > found.log_sd[:4].max()


def test_nothing_measured_gives_the_fallback_and_says_so() -> None:
    found = annual_distance([0, float("nan")], [0, float("nan")], [0, 1])
    assert found.status is Status.NO_LIVES
    assert "stands in for all" in found.reason
    assert found.km_per_year.tolist() == [FALLBACK_KM_PER_YEAR] * 2
    one = annual_distance([30_000, float("nan")], [2, float("nan")], [0, 1])
    assert one.status is Status.OK
    assert one.km_per_year[1] == pytest.approx(15_000)


def test_no_vehicles_at_all() -> None:
    assert annual_distance([], [], []).km_per_year.tolist() == []


def test_vehicle_that_stood_still_has_a_small_positive_distance() -> None:
    found = annual_distance([0, 24_000, 26_000], [2, 2, 2], [0, 0, 0])
    assert 0 < found.km_per_year[0] < 3000


@pytest.mark.parametrize(
    ("distance", "years", "rule"),
    [
        ([-1, 5], [1, 1], "never below 0"),
        ([1, 5], [-1, 1], "never below 0"),
        ([1], [1], "one dist"),
    ],
)
def test_what_cannot_be_is_refused(distance: list[float], years: list[float], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        annual_distance(distance, years, [0, 0])
    with pytest.raises(ValueError, match="spread is a finite number"):
        annual_distance([1, 5], [1, 1], [0, 0], year_log_sd=0)


vehicles = st.lists(
    st.tuples(st.floats(500, 90_000), st.floats(0.1, 8), st.integers(0, 3)),
    min_size=2,
    max_size=30,
)


@settings(max_examples=50, deadline=None)
@given(vehicles)
def test_estimate_lies_between_the_own_distance_and_the_extremes(
    given_vehicles: list[tuple[float, float, int]],
) -> None:
    distance, years, group = (np.array(each) for each in zip(*given_vehicles, strict=True))
    found = annual_distance(distance, years, group).km_per_year
    own = np.maximum(distance / years, 100)
    assert np.all(np.isfinite(found))
    assert np.all(found >= own.min() * (1 - 1e-9))
    assert np.all(found <= own.max() * (1 + 1e-9))


@settings(max_examples=30, deadline=None)
@given(vehicles)
def test_order_of_vehicles_does_not_matter(
    given_vehicles: list[tuple[float, float, int]],
) -> None:
    distance, years, group = (np.array(each) for each in zip(*given_vehicles, strict=True))
    forward = annual_distance(distance, years, group).km_per_year
    backward = annual_distance(distance[::-1], years[::-1], group[::-1]).km_per_year
    np.testing.assert_allclose(forward, backward[::-1], rtol=1e-6)

"""What groups lend to vehicles and to one another, worked out by hand."""

import numpy as np
import pytest

from garage.lifetimes.usage.annual_distance import (
    VEHICLE_LOG_SD,
    YEAR_LOG_SD,
    annual_distance,
    spread_between,
)


def test_three_groups_of_which_one_is_unmeasured_equal_a_hand_count() -> None:
    # 10 000 over 4 years, 40 000 over 2; with one vehicle a group the spread within is assumed.
    found = annual_distance([40_000, 80_000, 0], [4, 2, 0], [0, 1, 2])
    assert found.vehicle_log_sd == VEHICLE_LOG_SD
    within = VEHICLE_LOG_SD**2
    rate, noise = np.log([10_000, 40_000]), YEAR_LOG_SD**2 / np.array([4, 2])
    of_mean = noise + within
    # Squared deviations of two, weighted, add up to difference**2 / (sum of variances) = 1.
    between = (np.log(4) ** 2 - of_mean.sum()) / 2
    weight = 1 / (of_mean + between)
    common, common_doubt = weight @ rate / weight.sum(), 1 / weight.sum()
    kept = between / (between + of_mean)
    group = common + kept * (rate - common)
    group_doubt = kept * of_mean + (1 - kept) ** 2 * common_doubt
    own = within / (within + noise)
    assert np.log(found.km_per_year[:2]) == pytest.approx(group + own * (rate - group))
    variance = (1 - own) * within + (1 - own) ** 2 * group_doubt
    assert found.log_sd[:2] == pytest.approx(np.sqrt(variance))
    assert np.log(found.km_per_year[2]) == pytest.approx(common)
    assert found.log_sd[2] == pytest.approx(np.sqrt(within + between + common_doubt))


def test_one_measured_group_lends_its_mean_and_doubt_to_all() -> None:
    found = annual_distance([40_000, 0], [4, 0], [0, 1])
    noise = YEAR_LOG_SD**2 / 4 + VEHICLE_LOG_SD**2
    assert found.km_per_year.tolist() == pytest.approx([10_000, 10_000])
    assert found.log_sd[1] == pytest.approx(np.sqrt(VEHICLE_LOG_SD**2 + noise))


def test_spread_between_two_equals_its_formula_and_is_none_of_singles() -> None:
    value, noise = np.array([0.0, 3.0]), np.array([1.0, 2.0])
    together, apart = np.zeros(2, np.int64), np.arange(2)
    assert spread_between(value, noise, together, 1) == pytest.approx((9 - 3) / 2)
    assert spread_between(value / 10, noise, together, 1) == 0.0
    assert spread_between(value, noise, apart, 2) is None


@pytest.mark.parametrize("odd", [0, 1, 2])
def test_distance_time_and_group_are_given_for_every_vehicle(odd: int) -> None:
    columns = [[20_000, 30_000], [2, 2], [0, 0]]
    columns[odd] = columns[odd][:1]
    with pytest.raises(ValueError, match="one distance, time and group a vehicle"):
        annual_distance(*columns)

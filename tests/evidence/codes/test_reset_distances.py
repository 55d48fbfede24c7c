"""Distances, hours and burns of a vehicle: each guard with one fault at a time."""

from dataclasses import replace

import pytest

from garage.evidence.codes.reset_distances import burns_closer, mean_speed, odometers_differ
from garage.evidence.codes.reset_signs import Sign, VisitCounts, Work

TOWN = VisitCounts(odometer_km=24_900.0, odometer_trusted=True, run_hours=1_000.0)


@pytest.mark.parametrize(
    ("km", "sign", "words"),
    [
        (24_900.0, Sign.SHOWN, "town and idling"),
        (25_000.0, Sign.NOT_SHOWN, "mixed roads"),
        (60_000.0, Sign.NOT_SHOWN, "mixed roads"),
        (60_100.0, Sign.NOT_SHOWN, "long roads"),
        (130_000.0, Sign.NOT_SHOWN, "long roads"),
        (130_100.0, Sign.CANNOT_BE_TOLD, "not of one life"),
    ],
)
def test_mean_speed(km: float, sign: Sign, words: str) -> None:
    told = mean_speed(replace(TOWN, odometer_km=km))
    assert told.sign is sign
    assert words in told.words
    assert told.numbers[-1].value == km / 1_000


@pytest.mark.parametrize(
    "change",
    [{"odometer_km": None}, {"odometer_trusted": False}, {"run_hours": None}, {"run_hours": 0.0}],
)
def test_mean_speed_cannot_be_told(change: dict[str, float | None]) -> None:
    assert mean_speed(TOWN).sign is Sign.SHOWN
    assert mean_speed(replace(TOWN, **change)).sign is Sign.CANNOT_BE_TOLD


@pytest.mark.parametrize(
    ("before", "now", "sign"),
    [
        (500.0, 400.0, Sign.SHOWN),
        (500.0, 401.0, Sign.NOT_SHOWN),
        (500.0, 700.0, Sign.NOT_SHOWN),
        (500.0, None, Sign.CANNOT_BE_TOLD),
        (None, 400.0, Sign.CANNOT_BE_TOLD),
        (0.0, 400.0, Sign.CANNOT_BE_TOLD),
    ],
)
def test_burns_closer(before: float | None, now: float | None, sign: Sign) -> None:
    earlier, later = VisitCounts(burn_interval_km=before), VisitCounts(burn_interval_km=now)
    assert burns_closer(earlier, later).sign is sign


@pytest.mark.parametrize("work", list(Work))
def test_mean_between_burns_is_not_compared_over_work_that_begins_it_anew(work: Work) -> None:
    earlier, later = VisitCounts(burn_interval_km=500.0), VisitCounts(burn_interval_km=300.0)
    anew = work in (Work.REPROGRAMMING, Work.CONTROLLER)
    told = burns_closer(earlier, later, frozenset({work}))
    assert told.sign is (Sign.CANNOT_BE_TOLD if anew else Sign.SHOWN)


AGREE = VisitCounts(
    odometer_km=200_000.0, on_board_odometer_km=200_100.0, fuel_monitor_km=200_050.0
)
SMALL = VisitCounts(odometer_km=5_000.0, on_board_odometer_km=5_050.0)


@pytest.mark.parametrize(
    ("told", "change"),
    [
        (AGREE, {"on_board_odometer_km": 200_101.0}),
        (AGREE, {"odometer_km": 199_999.0}),
        (AGREE, {"fuel_monitor_km": 199_899.0}),
        (SMALL, {"on_board_odometer_km": 5_051.0}),
    ],
)
def test_odometers_differ_beyond_a_hundred_km_or_one_per_cent(
    told: VisitCounts, change: dict[str, float]
) -> None:
    assert odometers_differ(None, told).sign is Sign.NOT_SHOWN
    assert odometers_differ(None, replace(told, **change)).sign is Sign.SHOWN


def test_odometers_in_km_and_miles_are_said_so() -> None:
    # 1.609344 km in a mile, by its definition.
    miles = VisitCounts(odometer_km=100_000.0, on_board_odometer_km=160_934.0)
    assert odometers_differ(None, miles).words.endswith("one may be in miles")
    other = replace(miles, on_board_odometer_km=161_100.0)
    assert odometers_differ(None, other).words.endswith("61 100 km apart")


@pytest.mark.parametrize(
    ("last_km", "trusted", "sign"),
    [
        (200_200.0, True, Sign.SHOWN),
        (200_200.0, False, Sign.NOT_SHOWN),
        (200_150.0, True, Sign.NOT_SHOWN),
        (150_000.0, True, Sign.NOT_SHOWN),
    ],
)
def test_odometer_kept_on_board_may_not_lie_below_the_last_record(
    last_km: float, trusted: bool, sign: Sign
) -> None:
    earlier = VisitCounts(odometer_km=last_km, odometer_trusted=trusted)
    told = odometers_differ(earlier, AGREE)
    assert told.sign is sign
    assert ("on record before" in told.words) == (sign is Sign.SHOWN)


@pytest.mark.parametrize(
    "told", [VisitCounts(odometer_km=200_000.0), VisitCounts(on_board_odometer_km=200_000.0)]
)
def test_one_odometer_alone_cannot_differ(told: VisitCounts) -> None:
    earlier = VisitCounts(odometer_km=190_000.0, odometer_trusted=True)
    assert odometers_differ(None, told).sign is Sign.CANNOT_BE_TOLD
    beside_record = odometers_differ(earlier, told).sign
    only_dashboard = told.odometer_km is not None
    assert beside_record is (Sign.CANNOT_BE_TOLD if only_dashboard else Sign.NOT_SHOWN)

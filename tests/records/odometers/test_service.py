"""Verdicts in the database: what is kept of them, and how people's decisions get there."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from garage.records.choices import Doubt, ReadingSource, Remark, ResolvedAs
from garage.records.distance import to_km
from garage.records.models import OdometerReading, ReadingResolution, Vehicle
from garage.records.services.odometer import InstrumentOffsets, odometers_settle
from tests.records.factories import (
    ClusterReplacementFactory,
    JobFactory,
    OdometerReadingFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

NOW = datetime(2024, 5, 6, 9, 0, tzinfo=UTC)


@pytest.fixture
def vehicle() -> Vehicle:
    return VehicleFactory(first_used_on=date(2012, 1, 1))


def read(vehicle: Vehicle, *km: int) -> list[OdometerReading]:
    """Readings of successive years from 2014 on."""
    return [
        OdometerReadingFactory(vehicle=vehicle, read_on=date(2014 + at, 1, 1), typed=Decimal(each))
        for at, each in enumerate(km)
    ]


def settle(*readings: OdometerReading) -> dict[int, int]:
    vehicle_ids = [readings[0].vehicle_id]
    km_at_jobs = odometers_settle(vehicle_ids=vehicle_ids, offsets=InstrumentOffsets(vehicle_ids))
    for each in readings:
        each.refresh_from_db()
    return km_at_jobs


def read_at_jobs(vehicle: Vehicle, *km: int, unit: str = "km") -> list[OdometerReading]:
    """The same readings, each at a job."""
    readings = []
    for at, each in enumerate(km):
        job = JobFactory(vehicle=vehicle, opened_on=date(2014 + at, 1, 1))
        readings.append(
            OdometerReadingFactory(
                vehicle=vehicle,
                job=job,
                read_on=job.opened_on,
                typed=Decimal(each),
                unit=unit,
                source=ReadingSource.JOB,
            )
        )
    return readings


def resolve(reading: OdometerReading, resolved_as: ResolvedAs, **mended: object) -> None:
    ReadingResolution.objects.create(
        reading=reading, resolved_as=resolved_as, reason="seen on the photo", at=NOW, **mended
    )


def test_what_would_mend_a_reading_is_kept_the_likeliest_first(vehicle: Vehicle) -> None:
    readings = read(vehicle, 30_000, 45_000, 37_282, 75_000)
    settle(*readings)
    assert [each.doubt for each in readings] == ["", "", Doubt.WRONG_UNIT, ""]
    likeliest = readings[2].explanations[0]
    assert likeliest["weight"] > 0.5
    # 37 282 miles are 59 999.6 km.
    assert {name: likeliest[name] for name in ("kind", "km", "typed", "unit", "read_on")} == {
        "kind": "wrong_unit",
        "km": 60_000,
        "typed": 37_282,
        "unit": "mi",
        "read_on": None,
    }
    weights = [each["weight"] for each in readings[2].explanations]
    assert sum(weights) == pytest.approx(1, abs=0.001)
    assert [each.explanations for each in (readings[0], readings[1], readings[3])] == [[]] * 3


def test_resolved_readings_bind_until_the_resolution_is_withdrawn(vehicle: Vehicle) -> None:
    readings = read(vehicle, 30_000, 45_000, 600_000, 75_000)
    resolve(readings[2], ResolvedAs.MENDED, typed=Decimal(60_000), unit="km")
    settle(*readings)
    assert [(each.km, each.doubt) for each in readings] == [
        (km, "") for km in (30_000, 45_000, 60_000, 75_000)
    ]
    # What was typed is kept.
    assert readings[2].typed == Decimal(600_000)
    ReadingResolution.objects.update(withdrawn_at=NOW)
    settle(*readings)
    assert (readings[2].km, readings[2].doubt != "") == (600_000, True)


def test_a_reading_set_aside_says_by_whom_not(vehicle: Vehicle) -> None:
    readings = read(vehicle, 30_000, 45_000, 60_000)
    resolve(readings[1], ResolvedAs.SET_ASIDE)
    settle(*readings)
    assert (readings[1].doubt, readings[1].doubt_reason) == ("set_aside", "set aside by a person")


def test_a_mended_day_sets_the_reading_aside_under_the_day_it_is_kept_under(
    vehicle: Vehicle,
) -> None:
    readings = read(vehicle, 30_000, 45_000, 60_000, 52_000)
    resolve(readings[3], ResolvedAs.MENDED, read_on=date(2015, 7, 1))
    settle(*readings)
    assert [each.doubt for each in readings] == ["", "", "", Doubt.WRONG_DATE]
    assert readings[3].doubt_reason == "read on 2015-07-01, as a person found"


def test_the_resolution_of_another_vehicle_changes_nothing(vehicle: Vehicle) -> None:
    readings = read(vehicle, 30_000, 45_000)
    other = OdometerReadingFactory()
    resolve(other, ResolvedAs.SET_ASIDE)
    settle(*readings)
    assert [each.doubt for each in readings] == ["", ""]


def test_standing_still_between_jobs_is_remarked_and_no_doubt(vehicle: Vehicle) -> None:
    readings = read_at_jobs(vehicle, 30_000, 45_000, 45_010, 60_000)
    settle(*readings)
    assert [each.remark for each in readings] == ["", "", Remark.STANDSTILL, ""]
    assert {each.doubt for each in readings} == {""}


@pytest.mark.parametrize(
    "stale",
    [
        {"km": 99_000},
        {"doubt": Doubt.BACKWARDS, "doubt_reason": "as it was"},
        {"remark": Remark.STANDSTILL},
        {"explanations": [{"kind": "as_read", "weight": 1.0}]},
    ],
    ids=lambda stale: next(iter(stale)),
)
@pytest.mark.parametrize("unit", ["km", "mi"])
def test_what_no_longer_holds_of_a_clean_history_is_taken_back(
    vehicle: Vehicle, unit: str, stale: dict[str, object]
) -> None:
    readings = read_at_jobs(vehicle, 30_000, 45_000, 60_000, unit=unit)
    true_km = [to_km(each.typed, unit) for each in readings]
    assert list(settle(*readings).values()) == true_km
    OdometerReading.objects.filter(pk=readings[1].pk).update(**stale)
    assert list(settle(*readings).values()) == true_km
    assert [each.km for each in readings] == true_km
    derived = [(e.doubt, e.doubt_reason, e.remark, e.explanations) for e in readings]
    assert derived == [("", "", "", [])] * 3


def test_the_offset_of_an_instrument_goes_with_its_replacement(vehicle: Vehicle) -> None:
    readings = read_at_jobs(vehicle, 30_000, 5_000)
    replacement = ClusterReplacementFactory(
        vehicle=vehicle, done_on=date(2014, 6, 1), typed_offset=Decimal(40_000), offset_km=40_000
    )
    assert list(settle(*readings).values()) == [30_000, 45_000]
    replacement.delete()
    settle(*readings)
    assert readings[1].km == 5_000


def test_jobs_whose_reading_stands_have_a_distance(vehicle: Vehicle) -> None:
    readings = read_at_jobs(vehicle, 30_000, 45_000, 600_000, 75_000, 90_000)
    jobs = [each.job_id for each in readings]
    standing = {jobs[0]: 30_000, jobs[1]: 45_000, jobs[3]: 75_000, jobs[4]: 90_000}
    assert settle(*readings) == standing
    resolve(readings[2], ResolvedAs.MENDED, typed=Decimal(60_000), unit="km")
    assert settle(*readings) == standing | {jobs[2]: 60_000}

"""What the database refuses of odometer readings and replaced clusters."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from garage.records.choices import Doubt, ReadingSource
from tests.records.constraints import refused_by
from tests.records.factories import (
    ClusterReplacementFactory,
    JobFactory,
    OdometerReadingFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

DAY = date(2024, 5, 6)


@pytest.mark.parametrize(
    "other",
    [
        {"read_on": date(2024, 5, 7)},
        {"typed": Decimal(120_001)},
        {"unit": "mi"},
        {"source": ReadingSource.KEEPER},
    ],
)
def test_odometer_reading_once(other: dict[str, object]) -> None:
    same = {
        "vehicle": VehicleFactory(),
        "read_on": DAY,
        "typed": Decimal(120_000),
        "unit": "km",
        "source": ReadingSource.INSPECTION,
    }
    OdometerReadingFactory(**same)
    OdometerReadingFactory(**same | other)
    OdometerReadingFactory(**same | {"vehicle": VehicleFactory()})
    with refused_by("odometer_reading_once"):
        OdometerReadingFactory(**same)


def test_two_jobs_of_one_day_may_read_the_same() -> None:
    vehicle = VehicleFactory()
    for job in JobFactory.create_batch(2, vehicle=vehicle):
        OdometerReadingFactory(vehicle=vehicle, job=job, source=ReadingSource.JOB)


def test_a_job_has_one_reading() -> None:
    first, second = JobFactory.create_batch(2, vehicle=VehicleFactory())
    OdometerReadingFactory(vehicle=first.vehicle, job=first)
    OdometerReadingFactory(vehicle=first.vehicle, job=second)
    with pytest.raises(IntegrityError, match="job_id"), transaction.atomic():
        OdometerReadingFactory(vehicle=first.vehicle, job=second)


def test_odometer_reading_not_negative() -> None:
    OdometerReadingFactory(typed=Decimal(0), km=0)
    with refused_by("odometer_reading_not_negative"):
        OdometerReadingFactory(typed=Decimal("-0.01"), km=0)


@pytest.mark.parametrize("unit", ["km", "mi"])
def test_odometer_reading_unit_known(unit: str) -> None:
    OdometerReadingFactory(unit=unit, km=1)
    with refused_by("odometer_reading_unit_known"):
        OdometerReadingFactory(unit="h", km=1)


@pytest.mark.parametrize("source", ReadingSource.values)
def test_odometer_reading_source_known(source: str) -> None:
    OdometerReadingFactory(source=source)
    with refused_by("odometer_reading_source_known"):
        OdometerReadingFactory(source="guess")


@pytest.mark.parametrize("doubt", Doubt.values)
def test_odometer_reading_doubt_has_reason(doubt: str) -> None:
    OdometerReadingFactory(doubt=doubt, doubt_reason="90 km comes after 100 km")
    OdometerReadingFactory(doubt="", doubt_reason="")
    with refused_by("odometer_reading_doubt_has_reason"):
        OdometerReadingFactory(doubt=doubt, doubt_reason="")


def test_cluster_replacement_once_a_day() -> None:
    vehicle = VehicleFactory()
    ClusterReplacementFactory(vehicle=vehicle, done_on=DAY)
    ClusterReplacementFactory(vehicle=vehicle, done_on=date(2024, 5, 7))
    ClusterReplacementFactory(done_on=DAY)
    with refused_by("cluster_replacement_once_a_day"):
        ClusterReplacementFactory(vehicle=vehicle, done_on=DAY, typed_offset=Decimal(1))


@pytest.mark.parametrize("unit", ["km", "mi"])
def test_cluster_replacement_unit_known(unit: str) -> None:
    ClusterReplacementFactory(unit=unit, offset_km=1)
    with refused_by("cluster_replacement_unit_known"):
        ClusterReplacementFactory(unit="", offset_km=1)

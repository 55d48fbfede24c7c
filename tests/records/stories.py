"""Vehicles with a past that more than one test needs."""

from datetime import UTC, date, datetime

from garage.records.choices import OperationKind, Origin, ReadingSource
from garage.records.models import Job, PartKind, Vehicle
from garage.records.services.settle import vehicles_settle
from garage.records.services.warranties import WarrantyTerms, warranty_set
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TERMS = WarrantyTerms(given_by="supplier", months=24, distance_km=40_000, claim_within_days=30)


def job_of(vehicle: Vehicle, day: date, km: int, kind: str = "replace") -> Job:
    job = JobFactory(vehicle=vehicle, opened_on=day, closed_on=day)
    OdometerReadingFactory(vehicle=vehicle, job=job, read_on=day, typed=km, km=km, source="job")
    OperationFactory(
        job=job,
        kind=kind,
        part_kind=PartKind.objects.get(code="particulate_filter"),
        removed_because="failed",
    )
    return job


def fitted_and_failed(
    *,
    terms: WarrantyTerms = TERMS,
    km: tuple[int | None, int | None] = (100_000, 112_000),
    removed_because: str = "failed",
    organisation=None,
):
    """A filter fitted in 2024 under these terms, and replaced a year later."""
    vehicle = VehicleFactory(**({} if organisation is None else {"organisation": organisation}))
    part_kind = PartKind.objects.get(code="particulate_filter")
    operations = []
    for opened_on, at_km, because in (
        (date(2024, 5, 6), km[0], ""),
        (date(2025, 5, 6), km[1], removed_because),
    ):
        job = JobFactory(vehicle=vehicle, opened_on=opened_on, closed_on=opened_on)
        if at_km is not None:
            OdometerReadingFactory(
                vehicle=vehicle,
                job=job,
                read_on=opened_on,
                typed=at_km,
                km=at_km,
                source=ReadingSource.JOB,
            )
        operations.append(
            OperationFactory(
                job=job,
                kind=OperationKind.REPLACE,
                part_kind=part_kind,
                part_origin=Origin.NEW_AFTERMARKET,
                removed_because=because,
            )
        )
    vehicles_settle(vehicle_ids=[vehicle.pk])
    warranty_set(operation=operations[0], terms=terms, at=AT)
    return vehicle, operations

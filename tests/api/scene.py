"""Records to ask for: workshop Alder with one vehicle whose filters fail early, Birch with one of
its own, Cedar with none."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from garage.records.choices import (
    OperationKind,
    Origin,
    ReadingSource,
    RemovedBecause,
    System,
)
from garage.records.models import EngineFamily, Job, Organisation, PartKind, Vehicle
from garage.records.services.settle import vehicles_settle
from tests.records.cast import Cast, cast_make
from tests.records.factories import (
    EngineFamilyFactory,
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    RegistrationMarkFactory,
    VehicleFactory,
    invented_vin,
)


@dataclass(frozen=True)
class Scene:
    """`van` is flagged; `birch_van` is of a family that Alder has no vehicle of."""

    cast: Cast
    van: Vehicle
    birch_van: Vehicle
    family: EngineFamily
    birch_family: EngineFamily


def scene_make() -> Scene:
    cast = cast_make()
    family = EngineFamilyFactory(name="Alder 16")
    birch_family = EngineFamilyFactory(name="Birch 20")
    for number in range(12):
        _sound_vehicle(cast.alder, family, number)
    van = _flagged_van(cast.alder, family)
    birch_van = VehicleFactory(
        organisation=cast.birch, ref="B1", engine_family=birch_family, vin=invented_vin(77)
    )
    RegistrationMarkFactory(vehicle=birch_van, mark="QB 7777")
    visit(birch_van, date(2021, 3, 1), 90_000, operation(OperationKind.INSPECT))
    vehicles_settle(vehicle_ids=list(Vehicle.objects.values_list("pk", flat=True)))
    return Scene(cast, van, birch_van, family, birch_family)


def operation(kind: OperationKind, **more: Any) -> dict[str, Any]:
    part_kind = PartKind.objects.get(code="particulate_filter")
    return {"kind": kind, "system": System.EXHAUST_AFTERTREATMENT, "part_kind": part_kind, **more}


def replacement(because: RemovedBecause = RemovedBecause.FAILED) -> dict[str, Any]:
    return operation(
        OperationKind.REPLACE, part_origin=Origin.NEW_AFTERMARKET, removed_because=because
    )


def visit(
    vehicle: Vehicle, on: date, odometer_km: int, *operations: dict[str, Any], **more: Any
) -> Job:
    """A job that is closed the same day, with its reading and what was done."""
    job: Job = JobFactory(vehicle=vehicle, opened_on=on, closed_on=on, **more)
    OdometerReadingFactory(
        vehicle=vehicle, job=job, read_on=on, typed=odometer_km, source=ReadingSource.JOB
    )
    for each in operations:
        OperationFactory(job=job, **each)
    return job


def _sound_vehicle(organisation: Organisation, family: EngineFamily, number: int) -> None:
    vehicle = VehicleFactory(
        organisation=organisation,
        ref=f"A{number:02d}",
        engine_family=family,
        first_used_on=date(2015, 1, 1),
        watched_from_new=True,
    )
    service = {"kind": OperationKind.INSPECT, "system": System.SERVICE}
    for year in (2016, 2017, 2018):
        visit(vehicle, date(year, 1, 1), 30_000 * (year - 2015), service, planned=True)
    if number < 4:
        visit(vehicle, date(2022, 1, 1), 210_000 + 5_000 * number, replacement())


def _flagged_van(organisation: Organisation, family: EngineFamily) -> Vehicle:
    van: Vehicle = VehicleFactory(
        organisation=organisation,
        ref="Van 12",
        engine_family=family,
        vin=invented_vin(12),
        first_used_on=date(2019, 1, 1),
        watched_from_new=True,
    )
    RegistrationMarkFactory(vehicle=van, mark="QX 1234", until_on=date(2020, 1, 1))
    RegistrationMarkFactory(vehicle=van, mark="QZ-77-KL", from_on=date(2020, 1, 1))
    visit(van, date(2020, 1, 1), 30_000, replacement(), complaint="no power")
    visit(van, date(2020, 7, 1), 39_000, replacement(), trouble_codes="P2463 P2002")
    visit(van, date(2021, 1, 1), 50_000, replacement(), repaired_elsewhere=["fuel"])
    # A digit was dropped.
    OdometerReadingFactory(vehicle=van, read_on=date(2020, 10, 1), typed=4_450)
    return van

"""An organisation with every odd thing that records may hold."""

from datetime import date
from decimal import Decimal

from garage.records.choices import Cause, OperationKind, Origin, ReadingSource, System
from garage.records.distance import to_km
from garage.records.models import EngineFamily, Job, Organisation, PartKind, Vehicle
from garage.records.services.settle import vehicles_settle
from tests.records.factories import (
    ClusterReplacementFactory,
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    OrganisationFactory,
    RegistrationMarkFactory,
    VehicleFactory,
    invented_vin,
)

EXHAUST = System.EXHAUST_AFTERTREATMENT


def odd_make(code: str = "oddments") -> Organisation:
    organisation = OrganisationFactory(code=code)
    vehicles = [_van(organisation), _lorry(organisation), _erased(organisation)]
    vehicles_settle(vehicle_ids=[vehicle.pk for vehicle in vehicles])
    return organisation


def _job(vehicle: Vehicle, ref: str, day: date, odometer: str = "", **said: object) -> Job:
    """A job; `odometer` is as typed, such as 90000.5 mi."""
    job: Job = JobFactory(vehicle=vehicle, ref=ref, opened_on=day, **{"closed_on": day, **said})
    if odometer:
        typed, unit = odometer.split()
        OdometerReadingFactory(
            vehicle=vehicle,
            job=job,
            read_on=day,
            typed=Decimal(typed),
            unit=unit,
            source=ReadingSource.JOB,
            km=to_km(Decimal(typed), unit),
        )
    return job


def _van(organisation: Organisation) -> Vehicle:
    """Miles, a replaced instrument, text of every kind, operations alike, an open job."""
    van: Vehicle = VehicleFactory(
        organisation=organisation,
        ref='=cmd|"x",y',
        vin=invented_vin(7),
        engine_family=EngineFamily.objects.get_or_create(name="Birch 20")[0],
        first_used_on=date(2012, 3, 4),
        watched_from_new=True,
        duty="town",
    )
    RegistrationMarkFactory(vehicle=van, mark="-OLD 1", until_on=date(2020, 1, 1))
    RegistrationMarkFactory(vehicle=van, mark="QX 77", from_on=date(2020, 1, 1))
    ClusterReplacementFactory(
        vehicle=van,
        done_on=date(2019, 5, 6),
        typed_offset=Decimal("80000.5"),
        unit="mi",
        offset_km=to_km(Decimal("80000.5"), "mi"),
        document='\'=paper, "signed"',
    )
    filter_kind = PartKind.objects.get(code="particulate_filter")
    job = _job(
        van,
        "J,1",
        date(2016, 5, 6),
        "50000.5 mi",
        complaint='no "power",\nsmoke',
        findings="+ soot\r\non the far side",
        cause=Cause.INJECTION,
        cause_note="'tis cylinder 2",
        trouble_codes="P2002 P2463",
        repaired_elsewhere=["air", "fuel"],
        planned=None,
    )
    OperationFactory(
        job=job,
        kind=OperationKind.REPLACE,
        part_kind=filter_kind,
        position="bank 1",
        part_origin=Origin.NEW_AFTERMARKET,
        part_brand="@Quill",
        part_mark="=7+1",
        removed_because="failed",
        found_in_place="same",
        last_sound_km=to_km(Decimal("50000.5"), "mi"),
        labour_cost=Decimal("120.50"),
        parts_cost=Decimal(640),
        tax_cost=Decimal("0.05"),
        currency="EUR",
        note="'-1",
    )
    for _ in range(3):
        OperationFactory(job=job, kind=OperationKind.CLEAR_CODES)
    OperationFactory(job=job, kind=OperationKind.ADJUST, system=System.AIR)
    OperationFactory(job=job, kind=OperationKind.CLEAR_CODES)
    again = _job(van, "J2", date(2020, 5, 6), "300 mi", repaired_elsewhere=[])
    OperationFactory(job=again, kind=OperationKind.INSPECT, part_named="hose clip")
    _job(van, "J3", date(2021, 5, 6), "9000 mi", closed_on=None, planned=True)
    OdometerReadingFactory(vehicle=van, read_on=date(2017, 5, 6), typed=Decimal(12), unit="mi")
    return van


def _lorry(organisation: Organisation) -> Vehicle:
    """Jobs whose first operation is of another system, or was sound beyond the odometer."""
    lorry: Vehicle = VehicleFactory(
        organisation=organisation,
        ref="Lorry 1",
        engine_family=None,
        ended_on=date(2022, 1, 1),
        ended_because="sold",
    )
    filter_kind = PartKind.objects.get(code="particulate_filter")
    job = _job(lorry, "L1", date(2018, 1, 2), "90000 km", complaint="lamp on")
    OperationFactory(job=job, kind=OperationKind.INSPECT, system=System.FUEL)
    OperationFactory(job=job, kind=OperationKind.REPLACE, part_kind=filter_kind)
    job = _job(lorry, "L2", date(2019, 1, 2), "95000 km")
    OperationFactory(
        job=job, kind=OperationKind.REPLACE, part_kind=filter_kind, last_sound_km=96_000
    )
    job = _job(lorry, "L3", date(2019, 1, 2))
    OperationFactory(
        job=job, kind=OperationKind.REPLACE, part_kind=filter_kind, last_sound_km=96_000
    )
    # Two readings of one day, and one of an unknown source that cannot be right.
    for typed, source in (("97000", "keeper"), ("97000", "inspection"), ("9", "unknown")):
        OdometerReadingFactory(
            vehicle=lorry, read_on=date(2019, 6, 1), typed=Decimal(typed), source=source
        )
    return lorry


def _erased(organisation: Organisation) -> Vehicle:
    vehicle: Vehicle = VehicleFactory(
        organisation=organisation, engine_family=None, erased_on=date(2024, 1, 1)
    )
    vehicle.ref = f"erased-{vehicle.pk}"
    vehicle.save()
    job = _job(vehicle, "erased-1", date(2018, 1, 2), "90000 km")
    OperationFactory(job=job, kind=OperationKind.OTHER)
    return vehicle

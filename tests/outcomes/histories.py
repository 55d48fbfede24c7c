"""Small vehicle histories, told in lines that a reader can check by hand.

    van = History(watched_from_new=True)
    van.job("2016-05-02", 50_000, planned=True)
    van.job("2018-05-02", 90_000, ops=[replaced("failed")])
    life, running = lives(as_of="2019-05-02")

Rows go through the models, and every reading of them settles the vehicles first, as every write
of the register does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from garage.outcomes.comebacks import IndexJob, index_jobs_follow
from garage.outcomes.facts import Facts, VehicleFacts
from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.read_facts import facts_read, newest_record_on
from garage.outcomes.usage import Odometers
from garage.records.choices import OperationKind, Origin, ReadingSource, System
from garage.records.models import Job, OdometerReading, Organisation, PartKind, Vehicle
from garage.records.services.settle import vehicles_settle
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

FILTER = "particulate_filter"
EXHAUST = System.EXHAUST_AFTERTREATMENT.value


@dataclass(frozen=True)
class Op:
    """One operation of a job, on the filter unless another part kind is named."""

    kind: str
    said: dict[str, Any] = field(default_factory=dict)
    part_kind: str | None = FILTER


def replaced(
    because: str = "failed",
    *,
    origin: str = Origin.NEW_ORIGINAL,
    part_kind: str = FILTER,
    **said: Any,
) -> Op:
    told = {"removed_because": because, "part_origin": origin, **said}
    return Op(OperationKind.REPLACE, told, part_kind)


def cleaned(because: str = "failed", **said: Any) -> Op:
    return Op(OperationKind.CLEAN_OFF_VEHICLE, {"removed_because": because, **said})


def inspected(origin: str = "", *, found: str = "", **said: Any) -> Op:
    return Op(OperationKind.INSPECT, {"part_origin": origin, "found_in_place": found, **said})


def done(kind: str, *, system: str = EXHAUST) -> Op:
    """An operation on a system, on no part of the catalogue."""
    return Op(kind, {"system": system}, part_kind=None)


class History:
    """One vehicle, its jobs and readings."""

    def __init__(self, organisation: Organisation | None = None, **said: Any) -> None:
        if organisation is not None:
            said["organisation"] = organisation
        for name in ("first_used_on", "ended_on"):
            if isinstance(said.get(name), str):
                said[name] = date.fromisoformat(said[name])
        self.vehicle: Vehicle = VehicleFactory(**said)

    def job(
        self,
        day: str,
        km: int | None = None,
        *,
        ops: Sequence[Op] = (),
        planned: bool | None = False,
        **said: Any,
    ) -> Job:
        """A job that closes on the day it opens, unless `closed_on` says otherwise."""
        opened_on = date.fromisoformat(day)
        closed_on = said.pop("closed_on", day)
        job: Job = JobFactory(
            vehicle=self.vehicle,
            opened_on=opened_on,
            closed_on=None if closed_on is None else date.fromisoformat(closed_on),
            planned=planned,
            **said,
        )
        if km is not None:
            self.reading(day, km, job=job, source=ReadingSource.JOB)
        for op in ops:
            part_kind = op.part_kind and PartKind.objects.get(code=op.part_kind)
            system = {"system": EXHAUST} if op.part_kind == FILTER else {}
            OperationFactory(
                job=job, kind=op.kind, part_kind=part_kind or None, **{**system, **op.said}
            )
        return job

    def service(self, day: str, km: int | None = None, *, ops: Sequence[Op] = ()) -> Job:
        """A planned job about nothing in particular."""
        return self.job(day, km, ops=ops, planned=True, system=System.SERVICE)

    def reading(self, day: str, km: int, **said: Any) -> OdometerReading:
        reading: OdometerReading = OdometerReadingFactory(
            vehicle=self.vehicle, read_on=date.fromisoformat(day), typed=Decimal(km), **said
        )
        return reading


def settle() -> None:
    """What every write of the register ends with."""
    vehicles_settle(vehicle_ids=list(Vehicle.objects.values_list("pk", flat=True)))


def filter_kind() -> PartKind:
    return PartKind.objects.get(code=FILTER)


def facts(
    *,
    as_of: str | date | None = None,
    of: Sequence[Organisation] | None = None,
    part_kind: PartKind | None = None,
) -> Facts:
    """The facts of everybody's vehicles, or of these organisations'."""
    settle()
    ids = [each.pk for each in (Organisation.objects.all() if of is None else of)]
    day = date.fromisoformat(as_of) if isinstance(as_of, str) else as_of
    day = day or newest_record_on(ids)
    assert day is not None, "a history without a record has no day to be seen from"
    return facts_read(
        vehicles_in_view=Vehicle.objects.filter(organisation_id__in=ids),
        part_kind=part_kind or filter_kind(),
        as_of=day,
    )


def facts_of(history: History, **how: Any) -> VehicleFacts:
    return next(
        vehicle for vehicle in facts(**how).vehicles if vehicle.vehicle_id == history.vehicle.pk
    )


def lives(**how: Any) -> list[Life]:
    """All lives, each vehicle's in the order in which its parts were in place."""
    read = facts(**how)
    found = lives_follow(read, Odometers(read))
    begun: dict[int, tuple[date, date]] = {}
    for vehicle in read.vehicles:
        days = {job.job_id: job.opened_on for job in vehicle.jobs}
        for fitment in vehicle.fitments:
            begun[fitment.fitment_id] = (
                days.get(fitment.fitted_at_id or 0, date.min),
                days.get(fitment.removed_at_id or 0, date.max),
            )
    return sorted(found, key=lambda life: (life.vehicle_id, life.position, begun[life.fitment_id]))


def index_jobs(**how: Any) -> list[IndexJob]:
    read = facts(**how)
    return index_jobs_follow(read, Odometers(read))

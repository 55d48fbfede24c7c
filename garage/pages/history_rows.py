"""A vehicle's jobs and readings as its page tells them."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from garage.lifetimes.wording import spoken
from garage.pages.words import NO_BREAK, kilometres
from garage.records.choices import DistanceUnit, RemovedBecause, System
from garage.records.models import Document, OdometerReading, Operation, RegistrationMark, Vehicle
from garage.records.selectors import JobEntry
from garage.records.services.warranties import FITTING_KINDS


@dataclass(frozen=True)
class ReadingTold:
    """An odometer reading: as typed, in km, and why it is set aside if it is."""

    typed: str
    km: str
    doubt: str
    reason: str
    reading: OdometerReading


@dataclass(frozen=True)
class JobTold:
    entry: JobEntry
    kind: str
    system: str
    reading: ReadingTold | None
    operations: tuple[str, ...]
    elsewhere: str
    documents: tuple[Document, ...]
    #: Lines that fitted a part and so can carry a warranty: key and name of the part.
    fitted: tuple[tuple[int, str], ...]


def job_told(entry: JobEntry) -> JobTold:
    job = entry.job
    kind = {True: "planned", False: "unplanned", None: "planned or not is not known"}[job.planned]
    return JobTold(
        entry=entry,
        kind=kind,
        system=System(job.system).label,
        reading=None if entry.reading is None else reading_told(entry.reading),
        operations=tuple(_operation(each) for each in entry.operations),
        elsewhere=_elsewhere(job.repaired_elsewhere),
        documents=tuple(job.documents.all()),
        fitted=tuple(
            (each.pk, each.part_kind.name)
            for each in entry.operations
            if each.part_kind is not None and each.kind in FITTING_KINDS
        ),
    )


def reading_told(reading: OdometerReading) -> ReadingTold:
    unit = DistanceUnit(reading.unit)
    typed = f"{spoken(float(reading.typed)).replace(' ', NO_BREAK)}{NO_BREAK}{unit.label}"
    km = kilometres(reading.km)
    return ReadingTold(
        typed=typed,
        km="" if typed == km else km,
        doubt=reading.get_doubt_display() if reading.doubt else "",
        reason=reading.doubt_reason,
        reading=reading,
    )


def current_mark(vehicle: Vehicle) -> str:
    """The mark it bears; the last one it bore; empty where none is known. Marks are prefetched."""
    marks: Iterable[RegistrationMark] = vehicle.marks.all()
    return max(marks, key=lambda each: (each.until_on is None, each.pk)).mark if marks else ""


def _operation(operation: Operation) -> str:
    part = operation.part_named or ("" if operation.part_kind is None else operation.part_kind.name)
    told = operation.get_kind_display()
    if part:
        told += f": {part}"
    details = []
    if operation.position:
        details.append(operation.position)
    if operation.part_origin and operation.part_origin != "unknown":
        details.append(f"origin {operation.get_part_origin_display()}")
    if operation.removed_because:
        details.append(f"the old one: {RemovedBecause(operation.removed_because).label}")
    if operation.found_in_place:
        details.append(f"found {operation.get_found_in_place_display()}")
    if operation.last_sound_km is not None:
        details.append(f"last known sound at {kilometres(operation.last_sound_km)}")
    cost = _cost(operation)
    if cost:
        details.append(cost)
    if operation.note:
        details.append(operation.note)
    return "; ".join([told, *details])


def _cost(operation: Operation) -> str:
    sums: list[Decimal] = [
        each for each in (operation.labour_cost, operation.parts_cost) if each is not None
    ]
    return f"{sum(sums):,.2f} {operation.currency}".replace(",", NO_BREAK) if sums else ""


def _elsewhere(systems: list[str] | None) -> str:
    if systems is None:
        return ""
    if not systems:
        return "Keeper asked: nothing repaired elsewhere since the last job."
    names = ", ".join(System(each).label for each in systems)
    return f"Keeper asked: repaired elsewhere since the last job: {names}."

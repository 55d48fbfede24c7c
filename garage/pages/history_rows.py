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
        operations=tuple(operation_told(each) for each in entry.operations),
        elsewhere=_asked(job.repaired_elsewhere),
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


def operation_told(operation: Operation, *, with_cost: bool = True) -> str:
    """One line of a job in words: what was done to which part, and what is known of it."""
    part = operation.part_named or ("" if operation.part_kind is None else operation.part_kind.name)
    told = operation.get_kind_display()
    if part:
        told += f": {part}"
    details = []
    if operation.position:
        details.append(operation.position)
    if operation.part_origin and operation.part_origin != "unknown":
        details.append(f"origin {operation.get_part_origin_display()}")
    if operation.part_mark:
        details.append(f"marked {operation.part_mark}")
    if operation.removed_because:
        details.append(f"the old one: {RemovedBecause(operation.removed_because).label}")
    if operation.found_in_place:
        details.append(f"found {operation.get_found_in_place_display()}")
    if operation.last_sound_km is not None:
        details.append(f"last known sound at {kilometres(operation.last_sound_km)}")
    cost = _cost(operation) if with_cost else ""
    if cost:
        details.append(cost)
    if operation.note:
        details.append(operation.note)
    return "; ".join([told, *details])


def _cost(operation: Operation) -> str:
    sums: list[Decimal] = [
        each
        for each in (operation.labour_cost, operation.parts_cost, operation.tax_cost)
        if each is not None
    ]
    return f"{sum(sums):,.2f} {operation.currency}".replace(",", NO_BREAK) if sums else ""


def _asked(systems: list[str] | None) -> str:
    told = elsewhere_told(systems)
    return f"Keeper asked: repaired elsewhere since the last job: {told}." if told else ""


def elsewhere_told(systems: list[str] | None) -> str:
    """What the keeper said was repaired elsewhere; empty where nobody asked."""
    if systems is None:
        return ""
    return ", ".join(System(each).label for each in systems) or "nothing"

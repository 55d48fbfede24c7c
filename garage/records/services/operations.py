"""Write the operations of a job: by the same rules as the lines of an import."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.importing.operation_rules import operation_check, removed_once_check
from garage.records.importing.operations import (
    KnownOperation,
    OperationBook,
    OperationValues,
    operation_values,
    recorded_operations,
)
from garage.records.importing.reading import RawRow
from garage.records.importing.rows import ReadRow
from garage.records.models import Job, OdometerReading, Operation, PartKind, Warranty
from garage.records.policies import job_open_check
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.services.settle import vehicles_changed
from garage.records.typed import distance_check, fields_broken

_AMOUNTS = ("labour_cost", "parts_cost", "tax_cost")
_TEXTS = ("part_origin", "part_brand", "part_mark", "removed_because", "found_in_place", "note")
_CHECKED = ("system", "part_named", "position", *_TEXTS, *_AMOUNTS, "currency")


@dataclass(frozen=True)
class OperationFacts:
    """What was done, in the words of the import's columns.

    `part_kind` is of the catalogue; another part is `part_named`. `last_sound_odometer` is as the
    instrument of the day shows, in `unit`. An empty `system` is that of the part, or else the
    job's.
    """

    operation: str
    system: str = ""
    part_kind: PartKind | None = None
    part_named: str = ""
    position: str = ""
    part_origin: str = ""
    part_brand: str = ""
    part_mark: str = ""
    removed_because: str = ""
    found_in_place: str = ""
    last_sound_odometer: Decimal | None = None
    unit: str = ""
    labour_cost: Decimal | None = None
    parts_cost: Decimal | None = None
    tax_cost: Decimal | None = None
    currency: str = ""
    note: str = ""


def operation_add(
    *, job: Job, facts: OperationFacts, at: datetime, by: AbstractBaseUser | None = None
) -> Operation:
    """Add an operation to an open job. RuleBroken names every fault at once."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=job.pk)
        last = row.operations.aggregate(last=Max("line"))["last"] or 0
        operation = Operation(job=row, line=last + 1)
        _take(operation, row, facts)
        operation.save(force_insert=True)
        _written(
            row, Change(AuditVerb.ADD, operation, {"kind": [None, operation.kind]}), at=at, by=by
        )
    return operation


def operation_change(
    *,
    operation: Operation,
    facts: OperationFacts,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Operation:
    """Say otherwise what was done at an open job; its place among the lines stays."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=operation.job_id)
        kept = Operation.objects.get(pk=operation.pk)
        before = _told(kept)
        _take(kept, row, facts)
        changes = changes_between(before, _told(kept))
        if changes:
            kept.save()
            _written(row, Change(AuditVerb.CHANGE, kept, changes), at=at, by=by)
    return kept


def operation_remove(
    *, operation: Operation, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Take an operation off an open job that it was written on by mistake."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=operation.job_id)
        job_open_check(row)
        if Warranty.objects.filter(operation=operation).exists():
            raise RuleBroken(
                "an operation whose part carries a warranty stays",
                got="one with terms",
                do="Change the operation instead; its terms and claims hang on it.",
            )
        change = Change(AuditVerb.REMOVE, operation, {"kind": [operation.kind, None]})
        audit_record(organisation=row.organisation, change=change, by=by, at=at)
        operation.delete()
        vehicles_changed(vehicle_ids=[row.vehicle_id], at=at)


def _written(job: Job, change: Change, *, at: datetime, by: AbstractBaseUser | None) -> None:
    vehicles_changed(vehicle_ids=[job.vehicle_id], at=at)
    audit_record(organisation=job.organisation, change=change, by=by, at=at)


def _told(operation: Operation) -> dict[str, Any]:
    return {name: getattr(operation, name) for name in OperationValues._fields}


def _take(operation: Operation, job: Job, facts: OperationFacts) -> None:
    """Put what was said into the row, or refuse all that is wrong with it."""
    job_open_check(job)
    unit = facts.unit or None
    row = ReadRow(RawRow(0, []), _row_values(job, facts))
    system = facts.system or (facts.part_kind.system if facts.part_kind else job.system)
    part = (facts.part_kind.pk if facts.part_kind else None, " ".join(facts.part_named.split()))
    broken = list(broken_by(lambda: _sound_check(facts)))
    if facts.part_kind is not None and part[1]:
        broken.append(
            RuleBroken(
                "a part is of the catalogue or named, not both",
                got=f"{facts.part_kind.code} and {part[1]}",
                do="Clear one of them.",
                column="part_named",
            )
        )
    if not broken:
        operation_check(row, unit=unit)
        values = operation_values(row, system=system, part=part, unit=unit)
        book = _book(job, without=operation.pk)
        # By hand an equal operation is another one, and no part comes out twice.
        row.values["nth_alike"] = len(book.by_values.get(values, ())) + 1
        removed_once_check(book, row, values)
        for name, value in values._asdict().items():
            setattr(operation, name, value)
        broken += fields_broken(operation, _CHECKED)
        # Forms and imports name the kind by the import's column.
        broken += (
            RuleBroken(each.rule, got=each.got, do=each.do, column="operation")
            for each in fields_broken(operation, ("kind",))
        )
        broken += _faults_of(row)
    refuse_all(broken)


def _row_values(job: Job, facts: OperationFacts) -> dict[str, Any]:
    """The facts as a row of an import has them: what is not known has no entry."""
    said = dict(vars(facts))
    part = said.pop("part_kind")
    said["part_kind"] = facts.part_named if part is None else part.code
    said["position"] = " ".join(facts.position.casefold().split())
    said["currency"] = facts.currency.strip().upper()
    for name in ("part_brand", "part_mark", "note"):
        said[name] = " ".join(str(said[name]).split())
    read = OdometerReading.objects.filter(job=job, unit=facts.unit).first()
    if read is not None:
        said["odometer"] = read.typed
    return {name: value for name, value in said.items() if value is not None and value != ""}


def _sound_check(facts: OperationFacts) -> None:
    if facts.last_sound_odometer is not None:
        distance_check("last_sound_odometer", facts.last_sound_odometer, facts.unit)


def _book(job: Job, *, without: int | None) -> OperationBook:
    book = OperationBook()
    for _, line, pk, values in recorded_operations([job.pk]):
        if pk != without:
            book.add(KnownOperation(values, pk, is_of_this_file=True), line=line)
    return book


def _faults_of(row: ReadRow) -> Iterable[RuleBroken]:
    return [
        RuleBroken(each.rule, got=each.got, do=each.do, column=each.column) for each in row.faults
    ]

"""The operation of a jobs row: its rules, its values, and whether the job has it already."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from garage.records.choices import OperationKind, Origin
from garage.records.distance import to_km
from garage.records.importing.cells import distance_fault
from garage.records.importing.rows import ReadRow
from garage.records.models import Operation

#: Operations that take a part out of the vehicle.
REMOVING = frozenset({OperationKind.REPLACE.value, OperationKind.CLEAN_OFF_VEHICLE.value})


class OperationValues(NamedTuple):
    """What an operation says, in the names of the model; equal values are the same operation."""

    kind: str
    system: str
    part_kind_id: int | None
    part_named: str
    position: str
    part_origin: str
    part_brand: str
    removed_because: str
    found_in_place: str
    last_sound_km: int | None
    labour_cost: Any
    parts_cost: Any
    currency: str
    note: str

    @property
    def identity(self) -> tuple[Any, ...]:
        """What was done to which part: the first five values."""
        return self[:5]

    def completed_by(self, other: "OperationValues") -> "OperationValues | None":
        """The two as one, if neither says what the other denies."""
        if self.identity != other.identity:
            return None
        merged = []
        for mine, theirs in zip(self, other, strict=True):
            if not _is_known(theirs) or theirs == mine:
                merged.append(mine)
            elif not _is_known(mine):
                merged.append(theirs)
            else:
                return None
        return OperationValues(*merged)


@dataclass(slots=True)
class KnownOperation:
    """An operation of a job; `id` is None until it is written."""

    values: OperationValues
    id: int | None
    is_of_this_file: bool
    is_claimed: bool = False


@dataclass(slots=True)
class OperationsBefore:
    """What was recorded before this file: operations up to `last_id`.

    `claimed` are the removals among them that rows of the file turned out to be. Beyond a chunk
    that is kept for removals only: elsewhere another row is an operation of its own, but another
    removal of the same part would be taken for a fuller export of the first.
    """

    last_id: int
    claimed: set[int] = field(default_factory=set)

    def known(self, operation_id: int, values: OperationValues) -> KnownOperation:
        return KnownOperation(
            values,
            operation_id,
            is_of_this_file=operation_id > self.last_id,
            is_claimed=operation_id in self.claimed,
        )

    def claim(self, operation: KnownOperation) -> None:
        operation.is_claimed = True
        if operation.id is not None and operation.values.kind in REMOVING:
            self.claimed.add(operation.id)


@dataclass(slots=True)
class OperationBook:
    """The operations of one job."""

    last_line: int = 0
    by_values: dict[OperationValues, KnownOperation] = field(default_factory=dict)

    def add(self, operation: KnownOperation, *, line: int) -> None:
        self.by_values[operation.values] = operation
        self.last_line = max(self.last_line, line)

    def same(self, values: OperationValues) -> KnownOperation | None:
        return self.by_values.get(values)

    def completable(self, values: OperationValues) -> tuple[KnownOperation, OperationValues] | None:
        """An operation of an earlier file of which this row may be a fuller export.

        Rows of one file are operations of their own; so are rows of an operation that another
        row of this chunk has claimed.
        """
        for known in self.by_values.values():
            if known.is_of_this_file or known.is_claimed:
                continue
            merged = known.values.completed_by(values)
            if merged is not None:
                return known, merged
        return None

    def complete(self, known: KnownOperation, merged: OperationValues) -> None:
        del self.by_values[known.values]
        known.values = merged
        self.by_values[merged] = known

    def removes_again(self, values: OperationValues) -> OperationValues | None:
        """The operation that already took this part out of this position, if there is one."""
        if values.kind not in REMOVING or not (values.part_kind_id or values.part_named):
            return None
        for known in self.by_values.values():
            if known.values.identity == values.identity:
                return known.values
        return None


def recorded_operations(job_ids: Iterable[int]) -> Iterable[tuple[int, int, int, OperationValues]]:
    """Job, line, id and values of the operations of these jobs."""
    found = Operation.objects.filter(job_id__in=job_ids).order_by("job_id", "line")
    for job_id, line, pk, *values in found.values_list(
        "job_id", "line", "pk", *OperationValues._fields
    ):
        yield job_id, line, pk, OperationValues(*values)


def operation_values(
    row: ReadRow, *, system: str, part: tuple[int | None, str], unit: str | None
) -> OperationValues:
    """The values of a row without faults; `unit` is that of its last sound odometer."""
    get = row.values.get
    sound = get("last_sound_odometer")
    return OperationValues(
        kind=row.values["operation"],
        system=system,
        part_kind_id=part[0],
        part_named=part[1],
        position=get("position", ""),
        part_origin=get("part_origin", ""),
        part_brand=get("part_brand", ""),
        removed_because=get("removed_because", ""),
        found_in_place=get("found_in_place", ""),
        last_sound_km=None if sound is None or unit is None else to_km(sound, unit),
        labour_cost=get("labour_cost"),
        parts_cost=get("parts_cost"),
        currency=get("currency", ""),
        note=get("note", ""),
    )


def operation_check(row: ReadRow, *, unit: str | None) -> None:
    """Add the faults of the row's operation; `unit` is the row's or else the job's."""
    values = row.values
    kind = values.get("operation")
    if kind is not None:
        _check_removal(row, kind)
        _check_origin(row, kind)
    if "found_in_place" in values and "part_kind" not in values:
        row.fault(
            "found_in_place",
            "a part found in place is named",
            got=f"{values['found_in_place']} without part_kind",
            do="Fill in part_kind, or leave found_in_place empty.",
        )
    amounts = [name for name in ("labour_cost", "parts_cost") if name in values]
    if amounts and "currency" not in values and not _is_faulty(row, "currency"):
        row.fault(
            "currency",
            "an amount has a currency",
            got=f"{amounts[0]} {values[amounts[0]]} without currency",
            do="Fill in currency, for example EUR.",
        )
    _check_last_sound(row, unit)


def removed_once_check(book: OperationBook, row: ReadRow, values: OperationValues) -> None:
    """Add a fault if another row of the job has taken the same part out already.

    Taken for a second exchange, it would record a life of no distance.
    """
    before = book.removes_again(values)
    if before is None or book.same(values) is not None or book.completable(values) is not None:
        return
    differing = [
        f"{name} {theirs or 'empty'}"
        for name, mine, theirs in zip(values._fields, values, before, strict=True)
        if mine != theirs
    ]
    row.fault(
        "operation",
        "one job takes the part of one position out once by replace, once by clean_off_vehicle",
        got=f"{values.kind} again; the row before has {', '.join(differing)}",
        do="Fill in position if these are two parts; a row that is recorded wrongly is not "
        "corrected by importing another.",
    )


def _check_last_sound(row: ReadRow, unit: str | None) -> None:
    sound = row.values.get("last_sound_odometer")
    if sound is None:
        return
    if unit is None:
        if not _is_faulty(row, "unit"):
            row.fault(
                "unit",
                "a distance has a unit",
                got=f"last_sound_odometer {sound} without unit",
                do="Fill in km or mi.",
            )
        return
    too_far = distance_fault("last_sound_odometer", sound, unit)
    if too_far is not None:
        row.faults.append(too_far)
    odometer = row.values.get("odometer")
    if odometer is not None and sound > odometer:
        row.fault(
            "last_sound_odometer",
            "a part was not last sound after it came out",
            got=f"{sound} {unit}, the job's odometer is {odometer}",
            do="Correct the one that is wrong; give both as the instrument of this day counts.",
        )


def _check_removal(row: ReadRow, kind: str) -> None:
    because = row.values.get("removed_because")
    if because is not None and kind not in REMOVING:
        row.fault(
            "removed_because",
            "only replace and clean_off_vehicle take a part out",
            got=f"{because} with {kind}",
            do="Leave it empty for a failure found but not repaired, and say what failed in "
            "complaint; use replace or clean_off_vehicle if the part came out.",
        )


def _check_origin(row: ReadRow, kind: str) -> None:
    origin = row.values.get("part_origin")
    if origin is None:
        return
    if kind == OperationKind.REPLACE and origin == Origin.FACTORY:
        row.fault(
            "part_origin",
            "a part fitted by a workshop is not the factory's",
            got=f"{origin} with {kind}",
            do="Write new_original for a new part of the vehicle's maker.",
        )
    elif kind == OperationKind.CLEAN_OFF_VEHICLE and origin != Origin.CLEANED:
        row.fault(
            "part_origin",
            "a part cleaned off the vehicle goes back as cleaned",
            got=f"{origin} with {kind}",
            do="Leave it empty, or use replace if another part was fitted.",
        )


def _is_known(value: object) -> bool:
    return value is not None and value != ""


def _is_faulty(row: ReadRow, column: str) -> bool:
    return any(fault.column == column for fault in row.faults)

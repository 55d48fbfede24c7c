"""The operation of a jobs row: its values, and whether the job has it already."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, NamedTuple

from garage.records.choices import OperationKind
from garage.records.distance import to_km
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
    part_mark: str
    removed_because: str
    found_in_place: str
    last_sound_km: int | None
    labour_cost: Any
    parts_cost: Any
    tax_cost: Any
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
    """The operations of one job; `by_values` has those that differ in nothing in their order."""

    last_line: int = 0
    by_values: dict[OperationValues, list[KnownOperation]] = field(default_factory=dict)

    def add(self, operation: KnownOperation, *, line: int) -> None:
        self.by_values.setdefault(operation.values, []).append(operation)
        self.last_line = max(self.last_line, line)

    def same(self, values: OperationValues, nth: int = 1) -> KnownOperation | None:
        if not self.by_values:
            return None
        alike = self.by_values.get(values, ())
        return alike[nth - 1] if nth <= len(alike) else None

    def completable(self, values: OperationValues) -> tuple[KnownOperation, OperationValues] | None:
        """An operation of an earlier file of which this row may be a fuller export.

        Rows of one file are operations of their own; so are rows of an operation that another
        row of this chunk has claimed.
        """
        for known in chain.from_iterable(self.by_values.values()):
            if known.is_of_this_file or known.is_claimed:
                continue
            merged = known.values.completed_by(values)
            if merged is not None:
                return known, merged
        return None

    def complete(self, known: KnownOperation, merged: OperationValues) -> None:
        alike = self.by_values[known.values]
        alike.remove(known)
        if not alike:
            del self.by_values[known.values]
        known.values = merged
        self.by_values.setdefault(merged, []).append(known)

    def removes_again(self, values: OperationValues) -> OperationValues | None:
        """The operation that already took this part out of this position, if there is one."""
        if values.kind not in REMOVING or not (values.part_kind_id or values.part_named):
            return None
        for before in self.by_values:
            if before.identity == values.identity:
                return before
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
    # In the order of the fields, and not by their names: twice as fast.
    return OperationValues(
        row.values["operation"],
        system,
        *part,
        get("position", ""),
        get("part_origin", ""),
        get("part_brand", ""),
        get("part_mark", ""),
        get("removed_because", ""),
        get("found_in_place", ""),
        None if sound is None or unit is None else to_km(sound, unit),
        get("labour_cost"),
        get("parts_cost"),
        get("tax_cost"),
        get("currency", ""),
        get("note", ""),
    )


def _is_known(value: object) -> bool:
    return value is not None and value != ""

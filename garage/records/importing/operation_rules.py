"""What must hold of the operation a jobs row names, for itself and beside those of its job."""

from garage.records.choices import OperationKind, Origin
from garage.records.importing.cells import distance_fault
from garage.records.importing.columns import JOBS, NO_OPERATION
from garage.records.importing.job_facts import JOB_FACTS
from garage.records.importing.operations import REMOVING, OperationBook, OperationValues
from garage.records.importing.rows import ReadRow

#: What a row says of its operation alone; `system` and `unit` may be said of the job.
_OPERATION_COLUMNS = frozenset(JOBS.by_name) - {
    *JOB_FACTS,
    *("job_ref", "vehicle_ref", "odometer", "unit", "system", "operation"),
}


def operation_check(row: ReadRow, *, unit: str | None) -> None:
    """Add the faults of the row's operation; `unit` is the row's or else the job's."""
    values = row.values
    kind = values.get("operation")
    if kind == NO_OPERATION:
        _check_job_alone(row)
    elif kind is not None:
        _check_removal(row, kind)
        _check_origin(row, kind)
    if "found_in_place" in values and "part_kind" not in values:
        row.fault(
            "found_in_place",
            "a part found in place is named",
            got=f"{values['found_in_place']} without part_kind",
            do="Fill in part_kind, or leave found_in_place empty.",
        )
    amounts = [name for name in ("labour_cost", "parts_cost", "tax_cost") if name in values]
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
    before, nth = book.removes_again(values), row.values.get("nth_alike", 1)
    if before is None or book.same(values, nth) is not None or book.completable(values) is not None:
        return
    differing = [
        f"{name} {theirs or 'empty'}"
        for name, mine, theirs in zip(values._fields, values, before, strict=True)
        if mine != theirs
    ] or ["the same in all columns"]
    row.fault(
        "operation",
        "one job takes the part of one position out once by replace, once by clean_off_vehicle",
        got=f"{values.kind} again; the row before has {', '.join(differing)}",
        do="Fill in position if these are two parts; a row that is recorded wrongly is not "
        "corrected by importing another.",
    )


def alike_check(book: OperationBook, row: ReadRow, values: OperationValues) -> None:
    """Add a fault if the row is numbered beyond the operations that are alike."""
    nth = row.values.get("nth_alike", 1)
    if nth == 1:
        return
    alike = len(book.by_values.get(values, ()))
    if nth <= alike + 1 or book.completable(values) is not None:
        return
    row.fault(
        "nth_alike",
        "operations of a job that differ in nothing are numbered 2, 3 and so on in their order",
        got=f"{nth}, the job has {alike} before it",
        do="Number the row by its place among its equals, or leave nth_alike empty.",
    )


def _check_job_alone(row: ReadRow) -> None:
    for name in sorted(_OPERATION_COLUMNS & row.values.keys()):
        row.fault(
            name,
            f"a row with operation {NO_OPERATION} tells of the job alone",
            got=f"{row.values[name]} with {NO_OPERATION}",
            do="Name what was done, or leave it empty.",
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


def _is_faulty(row: ReadRow, column: str) -> bool:
    return any(fault.column == column for fault in row.faults)

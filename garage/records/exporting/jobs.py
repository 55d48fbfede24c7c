"""Jobs with their operations as rows of the import form."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import islice
from typing import Any

from garage.records.choices import DistanceUnit
from garage.records.exporting.cells import (
    day_cell,
    number_cell,
    systems_cell,
    text_cell,
    typed_from_km,
    yes_no_cell,
)
from garage.records.exporting.tables import APART, CellRow
from garage.records.importing.columns import NO_OPERATION
from garage.records.models import Job, OdometerReading, Operation, Organisation

#: Jobs read together with what hangs on them: old SQLite builds take at most 999 parameters.
JOBS_AT_ONCE = 900
_JOB_FIELDS = (
    *("pk", "ref", "vehicle__ref", "opened_on", "closed_on", "planned", "complaint", "findings"),
    *("cause", "cause_note", "system", "repaired_elsewhere", "trouble_codes"),
)
_OPERATION_FIELDS = (
    *("job_id", "kind", "system", "part_kind__code", "part_named", "position", "part_origin"),
    *("part_brand", "part_mark", "removed_because", "found_in_place", "last_sound_km"),
    *("labour_cost", "parts_cost", "tax_cost", "currency", "note"),
)
_COSTS = ("labour_cost", "parts_cost", "tax_cost")
_CODES = ("part_origin", "removed_because", "found_in_place", "currency")
_TEXTS = ("position", "part_brand", "part_mark", "note")

#: A job's odometer as it was typed, with its unit.
Typed = tuple[Decimal, str]


def job_rows(organisation: Organisation) -> Iterator[CellRow]:
    """By day, and within a day in the order in which they were recorded."""
    jobs = (
        Job.objects.filter(organisation=organisation)
        .order_by("opened_on", "pk")
        .values(*_JOB_FIELDS)
        .iterator(chunk_size=JOBS_AT_ONCE)
    )
    while chunk := list(islice(jobs, JOBS_AT_ONCE)):
        ids = [job["pk"] for job in chunk]
        readings = _readings(ids)
        operations: dict[int, list[dict[str, Any]]] = defaultdict(list)
        for operation in _operations(ids):
            operations[operation["job_id"]].append(operation)
        for job in chunk:
            pk = job["pk"]
            yield from _rows_of_job(job, readings.get(pk), operations.get(pk, ()))


def _readings(job_ids: Iterable[int]) -> dict[int, Typed]:
    found = OdometerReading.objects.filter(job_id__in=job_ids).exclude(APART)
    return {
        job_id: (typed, unit)
        for job_id, typed, unit in found.values_list("job_id", "typed", "unit")
    }


def _operations(job_ids: Iterable[int]) -> Iterable[dict[str, Any]]:
    found = Operation.objects.filter(job_id__in=job_ids).order_by("job_id", "line")
    return found.values(*_OPERATION_FIELDS)


def _rows_of_job(
    job: dict[str, Any], reading: Typed | None, operations: Sequence[dict[str, Any]]
) -> Iterator[CellRow]:
    unit = DistanceUnit.KM.value if reading is None else reading[1]
    rows = [_operation_cells(operation, unit) for operation in operations]
    _number_alike(rows)
    if not rows or not _may_tell_of_the_job(rows[0], job, reading):
        rows.insert(0, {"operation": NO_OPERATION, "system": job["system"]})
    rows[0] |= _job_cells(job, reading)
    for row in rows:
        row["job_ref"], row["vehicle_ref"] = text_cell(job["ref"]), text_cell(job["vehicle__ref"])
        row["opened_on"] = day_cell(job["opened_on"])
    yield from rows


def _may_tell_of_the_job(row: CellRow, job: dict[str, Any], reading: Typed | None) -> bool:
    """Whether the import would read the job's own facts from the row of its first operation."""
    sound = row.get("last_sound_odometer")
    beyond = sound is not None and reading is not None and Decimal(sound) > reading[0]
    return row["system"] == job["system"] and not beyond


def _job_cells(job: dict[str, Any], reading: Typed | None) -> CellRow:
    cells = {
        "closed_on": day_cell(job["closed_on"]),
        "planned": yes_no_cell(job["planned"]),
        "cause": job["cause"],
        "repaired_elsewhere": systems_cell(job["repaired_elsewhere"]),
        **{
            name: text_cell(job[name])
            for name in ("complaint", "findings", "cause_note", "trouble_codes")
        },
    }
    if reading is not None:
        cells |= {"odometer": number_cell(reading[0]), "unit": reading[1]}
    return cells


def _operation_cells(operation: dict[str, Any], unit: str) -> CellRow:
    cells = {
        "operation": operation["kind"],
        "system": operation["system"],
        "part_kind": operation["part_kind__code"] or text_cell(operation["part_named"]),
        **{name: operation[name] for name in _CODES},
        **{name: text_cell(operation[name]) for name in _TEXTS},
        **{name: number_cell(operation[name]) for name in _COSTS},
    }
    if operation["last_sound_km"] is not None:
        cells["last_sound_odometer"] = number_cell(typed_from_km(operation["last_sound_km"], unit))
        cells["unit"] = unit
    return cells


def _number_alike(rows: list[CellRow]) -> None:
    """Number the rows that differ in nothing, from the second on."""
    seen: Counter[tuple[tuple[str, str], ...]] = Counter()
    for row in rows:
        likeness = tuple(row.items())
        seen[likeness] += 1
        if seen[likeness] > 1:
            row["nth_alike"] = str(seen[likeness])

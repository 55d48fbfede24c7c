"""What a jobs row says of its job: what is new, and what contradicts the rows before it."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from garage.records.importing.cells import distance_fault
from garage.records.importing.operations import OperationBook
from garage.records.importing.rows import ReadRow

#: Facts of the job, which its rows must agree on; the odometer is compared apart.
JOB_FACTS = (
    "opened_on",
    "closed_on",
    "planned",
    "complaint",
    "findings",
    "cause",
    "cause_note",
    "repaired_elsewhere",
    "trouble_codes",
)


@dataclass(slots=True)
class JobRecord:
    """A job's own facts in the names of the model; a model object takes ten times as long to make.

    `pk` is None until it is written.
    """

    pk: int | None
    vehicle_id: int
    ref: str
    system: str
    opened_on: date | None = None
    closed_on: date | None = None
    planned: bool | None = None
    complaint: str = ""
    findings: str = ""
    cause: str = ""
    cause_note: str = ""
    repaired_elsewhere: list[str] | None = None
    trouble_codes: str = ""


@dataclass(slots=True)
class KnownJob:
    """A job that earlier rows told of, recorded before or new."""

    job: JobRecord
    reading: tuple[Decimal, str] | None = None
    operations: OperationBook = field(default_factory=OperationBook)


@dataclass(slots=True)
class JobNews:
    """What a row newly tells of its job.

    `unit` is that of the row's distances and `system` that of its operation: the row's own, or
    else the job's.
    """

    facts: dict[str, Any]
    reading: tuple[Decimal, str] | None
    unit: str | None
    system: str | None


def job_read(
    known: KnownJob | None, row: ReadRow, *, part_system: str | None, refused_line: int | None
) -> JobNews:
    """The news of a row of this job, None for a job not yet known; faults go to the row."""
    values = row.values
    reading = _odometer(row)
    if known is None:
        _check_first_row(row, refused_line)
        system = values.get("system") or part_system
        if system is None and not _is_faulty(row, "system"):
            _fault_system(row)
        facts = {name: values[name] for name in JOB_FACTS if name in values}
        _check_days(row, facts.get("opened_on"), facts.get("closed_on"))
        return JobNews(facts, reading, values.get("unit"), system)
    news = JobNews({}, None, values.get("unit"), values.get("system"))
    news.system = news.system or known.job.system
    if news.unit is None and known.reading is not None:
        news.unit = known.reading[1]
    if reading is not None:
        if known.reading is None:
            news.reading = reading
        else:
            _contradiction_of_reading(row, reading, known.reading)
    for name in JOB_FACTS:
        value = values.get(name)
        if value is None:
            continue
        recorded = getattr(known.job, name)
        if value == recorded:
            continue
        if recorded is None or recorded == "":
            news.facts[name] = value
        else:
            _contradiction(row, name, value, recorded)
    _check_days(row, known.job.opened_on, news.facts.get("closed_on"))
    return news


def _check_first_row(row: ReadRow, refused_line: int | None) -> None:
    for name in ("vehicle_ref", "opened_on"):
        if name in row.values or _is_faulty(row, name):
            continue
        refused = (
            "" if refused_line is None else f"; the job's row on line {refused_line} was rejected"
        )
        row.fault(
            name,
            f"the first row of a job has {name}",
            got=f"an empty cell{refused}",
            do="Fill it in."
            if refused_line is None
            else "Correct that row and import it before this one, or fill the cell in.",
        )


def _fault_system(row: ReadRow) -> None:
    part = row.values.get("part_kind")
    row.fault(
        "system",
        "the first row of a job names its system, or a part kind of the catalogue",
        got="an empty cell" if part is None else f"an empty cell, part_kind {part}",
        do="Fill in system, or add the part kind with manage.py add_part_kind.",
    )


def _odometer(row: ReadRow) -> tuple[Decimal, str] | None:
    typed, unit = row.values.get("odometer"), row.values.get("unit")
    if typed is None:
        return None
    if unit is None:
        if not _is_faulty(row, "unit"):
            row.fault(
                "unit",
                "a distance has a unit",
                got=f"odometer {typed} without unit",
                do="Fill in km or mi.",
            )
        return None
    too_far = distance_fault("odometer", typed, unit)
    if too_far is not None:
        row.faults.append(too_far)
        return None
    return typed, unit


def _contradiction_of_reading(
    row: ReadRow, reading: tuple[Decimal, str], recorded: tuple[Decimal, str]
) -> None:
    if reading != recorded:
        _contradiction(row, "odometer", "{} {}".format(*reading), "{} {}".format(*recorded))


def _check_days(row: ReadRow, opened_on: date | None, closed_on: date | None) -> None:
    if opened_on is not None and closed_on is not None and closed_on < opened_on:
        row.fault(
            "closed_on",
            "a job is not closed before it was opened",
            got=f"{closed_on}, opened on {opened_on}",
            do="Correct the date that is wrong.",
        )


def _contradiction(row: ReadRow, column: str, value: object, recorded: object) -> None:
    row.fault(
        column,
        f"the rows of one job agree in {column}",
        got=f"{_said(value)}, an earlier row's {_said(recorded)} stands",
        do="Leave it empty, or correct it; if it is another job, give it another job_ref.",
    )


def _said(value: object) -> str:
    """A value as the file would say it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " ".join(value) or "none"
    return str(value)


def _is_faulty(row: ReadRow, column: str) -> bool:
    return any(fault.column == column for fault in row.faults)

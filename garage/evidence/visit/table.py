"""Readings and findings of one visit read from a table, each with the line it stands on."""

import csv
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.gauges.typed import number_typed
from garage.evidence.quantities.catalogue import KINDS
from garage.evidence.quantities.reading_check import (
    BESIDE_MOST,
    ReadingTyped,
    reading_checked,
    with_unit,
)
from garage.evidence.visit.said import ReadingSaid
from garage.records.choices import EngineCondition, JobPhase, SensorLayout
from garage.records.importing.faults import shown

#: More readings are no longer one visit; each is weighed with and without, so that the time grows
#: with the square. Judgement, no source.
ROWS_MOST = 300
COLUMNS = (
    "quantity",
    "value",
    "unit",
    "kind",
    "condition",
    "phase",
    "speed_rpm",
    "layout",
    "km_since_burn",
    "minutes_since_burn",
    "finding",
    "state",
)
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "kind": KINDS,
    "condition": tuple(EngineCondition.values),
    "phase": tuple(JobPhase.values),
    "layout": tuple(SensorLayout.values),
}
_DELIMITERS = ("\t", ";", ",")


@dataclass(frozen=True, slots=True)
class LineUnused:
    """A line, or part of one, that went into nothing, and why."""

    line: int
    what: str
    reason: str


@dataclass(frozen=True, slots=True)
class LineReading:
    """A reading, the phase it was taken at, and its line."""

    line: int
    phase: str
    said: ReadingSaid


@dataclass(frozen=True, slots=True)
class LineFinding:
    """A finding with its state, the phase it was made at, and its line."""

    line: int
    phase: str
    finding: str
    state: str


@dataclass(frozen=True, slots=True)
class VisitTable:
    """What a table holds, in its order."""

    readings: tuple[LineReading, ...]
    findings: tuple[LineFinding, ...]
    unused: tuple[LineUnused, ...]


def visit_table_read(text: str) -> VisitTable:
    """Answer what a table of one visit holds.

    The form is our own: a head, then a row for each reading or finding; columns in any order,
    parted by commas, semicolons or tabs. A reading has ``quantity`` and ``value``, and may have
    ``unit``, ``kind``, ``condition``, ``speed_rpm``, ``layout``, ``km_since_burn`` and
    ``minutes_since_burn``; a finding has ``finding`` and ``state``. ``phase`` is ``arrival`` where
    it is empty. What cannot be taken is told with its line; nothing is dropped silently.

    Raises
    ------
    ValueError
        Without a head that names a quantity and a value, or a finding and a state; with a name
        that comes twice, a quotation mark never closed, or too many rows.

    Examples
    --------
    >>> table = visit_table_read("quantity,value,unit\\nsoot_mass,31,g\\nsoot_mass,much,g\\n")
    >>> [each.said.typed for each in table.readings], [each.line for each in table.unused]
    (['31 g (line 2)'], [3])
    """
    rows = _rows(text)
    head_line, head = next(rows, (1, []))
    names = [each.strip().lower() for each in head]
    _head_check(names)
    readings: list[LineReading] = []
    findings: list[LineFinding] = []
    unused = [
        LineUnused(head_line, f"column {shown(name) or 'without a name'}", "is not known here")
        for name in names
        if name not in COLUMNS
    ]
    for line, cells in rows:
        if len(cells) > len(names):
            reason = f"has {len(cells)} cells, the head {len(names)}; quote a text with commas"
            unused.append(LineUnused(line, "row", reason))
            continue
        row = {name: cell.strip() for name, cell in zip(names, cells, strict=False)}
        try:
            taken = _taken(line, row)
        except _NotTaken as refused:
            unused.append(LineUnused(line, refused.what, refused.reason))
            continue
        if isinstance(taken, LineReading):
            readings.append(taken)
        else:
            findings.append(taken)
    return VisitTable(tuple(readings), tuple(findings), tuple(unused))


class _NotTaken(Exception):
    def __init__(self, what: str, reason: str) -> None:
        super().__init__(reason)
        self.what, self.reason = shown(what), reason


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """The rows that hold anything, each with the line it ends on."""
    text = text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}")
    first = next((each for each in text.splitlines() if each.strip()), "")
    delimiter = next((each for each in _DELIMITERS if each in first), ",")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    count = 0
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            count += 1
            if count > ROWS_MOST + 1:
                raise ValueError(
                    f"a table of one visit has at most {ROWS_MOST} rows; got more. Part it"
                )
            yield reader.line_num, cells
    except csv.Error as error:
        raise ValueError(
            f"a table is parted by one sign, quotation marks closed; got: {error} on line "
            f"{reader.line_num}. Save it as CSV again"
        ) from error


def _head_check(names: list[str]) -> None:
    if not ({"quantity", "value"} <= set(names) or {"finding", "state"} <= set(names)):
        raise ValueError(
            "the first row names the columns: quantity and value for readings, finding and state "
            f"for findings; got {shown(', '.join(names)) or 'nothing'}. Put a head in front"
        )
    twice = [name for name in COLUMNS if names.count(name) > 1]
    if twice:
        raise ValueError(f"a column stands once; got {', '.join(twice)} twice. Leave one out")


def _taken(line: int, row: Mapping[str, str]) -> LineReading | LineFinding:
    quantity, finding = row.get("quantity", ""), row.get("finding", "")
    if bool(quantity) == bool(finding):
        words = "names a quantity and a finding" if quantity else "names no quantity or finding"
        raise _NotTaken("row", f"{words}; a row is one of them")
    for name, known in _CHOICES.items():
        if row.get(name) and row[name] not in known:
            reason = f"{name} is one of {', '.join(known)}"
            raise _NotTaken(f"{quantity or finding}, {name} {row[name]}", reason)
    phase = row.get("phase") or JobPhase.ARRIVAL.value
    if finding:
        return _finding(line, phase, finding, row.get("state", ""))
    return LineReading(line, phase, _reading(line, row))


def _finding(line: int, phase: str, finding: str, state: str) -> LineFinding:
    try:
        vocabulary().finding(finding).words(state)
    except ValueError as unknown:
        raise _NotTaken(f"{finding} {state}".strip(), str(unknown)) from unknown
    return LineFinding(line, phase, finding, state)


def _reading(line: int, row: Mapping[str, str]) -> ReadingSaid:
    what = f"{row['quantity']} {row.get('value', '')} {row.get('unit', '')}".strip()
    whole = {name: _whole(what, name, row.get(name, "")) for name in BESIDE_MOST}
    try:
        value = number_typed(row.get("value", "")).value
    except ValueError as refused:
        raise _NotTaken(what, str(refused)) from refused
    typed = ReadingTyped(
        quantity=row["quantity"],
        value=value,
        unit=row.get("unit", ""),
        kind=row.get("kind", ""),
        condition=row.get("condition", ""),
        speed_rpm=whole["speed_rpm"],
    )
    checked = reading_checked(typed)
    if checked.faults:
        raise _NotTaken(what, "; ".join(f"{each.rule}. {each.do}" for each in checked.faults))
    return ReadingSaid(
        quantity=typed.quantity,
        typed=f"{with_unit(value, typed.unit)} (line {line})",
        standard_value=checked.standard_value,
        reason=checked.reason,
        condition=typed.condition,
        layout=row.get("layout", ""),
        kind=checked.kind,
        speed_rpm=whole["speed_rpm"],
        km_since_burn=whole["km_since_burn"],
        minutes_since_burn=whole["minutes_since_burn"],
    )


def _whole(what: str, name: str, cell: str) -> int | None:
    if not cell:
        return None
    most = BESIDE_MOST[name]
    plain = cell.isascii() and cell.isdigit() and len(cell) <= len(str(most))
    if not plain or int(cell) > most:
        raise _NotTaken(f"{what}, {name} {cell}", f"{name} is a whole number from 0 to {most}")
    return int(cell)

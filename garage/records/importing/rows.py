"""One row: all its cells read at once, with every fault they have."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from itertools import islice
from typing import Any

from garage.records.errors import RuleBroken
from garage.records.importing.cells import CellReader, cell_reader, cell_text
from garage.records.importing.columns import FAULT_COLUMNS
from garage.records.importing.faults import Fault
from garage.records.importing.reading import RawRow, SourceFile, source_rows

#: Rows handled together. References of a chunk are looked up in one query each, and old SQLite
#: builds take at most 999 parameters in one.
CHUNK_ROWS = 900
#: Cells of one column remembered with what they say, for most come again and again. A column of
#: ever new texts cannot fill the memory, nor can long ones.
CELLS_REMEMBERED = 4_096
REMEMBERED_CHARACTERS = 80
#: What a cell not met before is, as no value of a cell is this.
_NEW = object()


class Outcome(Enum):
    """What became of a row; every row read has exactly one."""

    APPLIED = "applied"
    UNCHANGED = "already recorded"
    REPEATED = "repeated in the file"
    REJECTED = "rejected"


@dataclass(slots=True)
class ReadRow:
    """A row with its values; a column that is absent or empty has no entry."""

    raw: RawRow
    values: dict[str, Any] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, column: str, rule: str, *, got: object, do: str) -> None:
        self.faults.append(Fault(rule, str(got), do, column))


def values_named(rows: Iterable[ReadRow], column: str) -> set[Any]:
    """What these rows say in a column."""
    return {row.values[column] for row in rows if column in row.values}


class RowReader:
    """Reads the rows of one file by its kind's columns."""

    def __init__(self, source: SourceFile, *, as_of: date) -> None:
        self._source = source
        self._places = [
            place for place, name in enumerate(source.columns) if name not in FAULT_COLUMNS
        ]
        names = [source.columns[place] for place in self._places]
        self._readers: list[tuple[str, CellReader, dict[str, Any]]] = [
            (name, cell_reader(source.kind.by_name[name], as_of=as_of), {}) for name in names
        ]
        self._required = frozenset(source.kind.required)

    def chunks(self) -> Iterator[list[ReadRow]]:
        rows = source_rows(self._source)
        while chunk := [self.read(raw) for raw in islice(rows, CHUNK_ROWS)]:
            yield chunk

    def read(self, raw: RawRow) -> ReadRow:
        row = ReadRow(raw)
        cells = raw.cells
        expected = len(self._source.columns)
        if len(cells) != expected and (
            len(cells) < expected or any(map(str.strip, cells[expected:]))
        ):
            row.fault(
                "",
                "a row has as many cells as the first line has columns",
                got=f"{len(cells)} cells for {expected} columns",
                do="Quote cells that hold commas; give empty cells for what is not known.",
            )
            return row
        values = row.values
        if len(self._places) != len(cells):
            cells = [cells[place] for place in self._places]
        for cell, (name, read, known) in zip(cells, self._readers, strict=True):
            if not cell:
                continue
            value = known.get(cell, _NEW)
            if value is _NEW:
                text = cell_text(cell)
                if not text:
                    continue
                try:
                    value = read(text)
                except RuleBroken as broken:
                    row.faults.append(Fault.of(broken, column=name))
                    continue
                if len(known) < CELLS_REMEMBERED and len(cell) <= REMEMBERED_CHARACTERS:
                    known[cell] = value
            values[name] = value
        if not self._required <= values.keys():
            self._check_required(row)
        return row

    def _check_required(self, row: ReadRow) -> None:
        for name in self._source.kind.required:
            if name in row.values or any(fault.column == name for fault in row.faults):
                continue
            row.fault(name, f"{name} is needed", got="an empty cell", do="Fill it in.")

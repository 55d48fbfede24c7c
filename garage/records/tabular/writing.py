"""Write the rows that land as our import files, and list the others with their reasons."""

import csv
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Any, TextIO

from garage.records.importing.columns import FileKind
from garage.records.importing.formulas import cell_written
from garage.records.job_lines.classify import Answers
from garage.records.tabular.job_lines import LineReader
from garage.records.tabular.landing import MappedRow, ready_rows, table_ready
from garage.records.tabular.layout import HEADER, rows_skipped
from garage.records.tabular.mapping import Mapping
from garage.records.tabular.reading import RawTable

_HELD_COLUMNS = ("kind", "source_row", "column", "state", "source_cell", "readings", "reason")


@dataclass(frozen=True)
class Written:
    """What was written: our files by kind, and how many rows landed in each or were held.

    `rows_of` are files beside them that tell, line by line, which source row each line came from.
    `held_file` lists rows that were held and lines of the source that are no rows. `lines` is what
    was read in free text.
    """

    files: dict[str, Path]
    rows_of: dict[str, Path]
    held_file: Path
    source_rows: int
    skipped_rows: int
    landed: Counter[str] = field(default_factory=Counter)
    held: Counter[str] = field(default_factory=Counter)
    lines: LineReader | None = None


def files_write(
    mapping: Mapping,
    table: RawTable,
    folder: Path,
    *,
    as_of: date,
    answers: Answers | None = None,
) -> Written:
    """Write one CSV of our form for each kind into the folder, for the import of histories."""
    ready = table_ready(mapping, table, as_of=as_of, answers=answers)
    landed: Counter[str] = Counter()
    held: Counter[str] = Counter()
    kinds = [filler.kind for filler in ready.fillers]
    held_file = folder / "held.csv"
    skipped = rows_skipped(ready.sheet, ready.layout)
    with ExitStack() as stack:
        outs = {kind.name: _KindOut(kind, folder, stack) for kind in kinds}
        held_out = csv.writer(_open(stack, held_file), lineterminator="\n")
        held_out.writerow(_HELD_COLUMNS)
        for each in skipped:
            if each.reason != HEADER and each.text:
                held_out.writerow(("", each.first, "", "skipped", each.text, "", each.reason))
        for row in ready_rows(ready):
            if row.lands:
                outs[row.kind].write(row)
                landed[row.kind] += 1
            else:
                held_out.writerows(_held_lines(row))
                held[row.kind] += 1
    return Written(
        files={name: out.path for name, out in outs.items()},
        rows_of={name: out.rows_path for name, out in outs.items()},
        held_file=held_file,
        source_rows=ready.evidence.row_count,
        skipped_rows=sum(each.last - each.first + 1 for each in skipped),
        landed=landed,
        held=held,
        lines=ready.lines,
    )


@dataclass(frozen=True)
class HeldCell:
    """Why a row of the source was held: one of its cells, what it may be, and the reason."""

    source_row: int
    column: str
    text: str
    readings: str
    reason: str


def held_read(held_file: Path, *, most: int) -> list[HeldCell]:
    """The first cells that hold rows back; lines of the source that are no rows left out."""
    with held_file.open(encoding="utf-8", newline="") as file:
        held = (row for row in csv.DictReader(file) if row["kind"])
        return [
            HeldCell(
                int(row["source_row"]),
                row["column"],
                row["source_cell"],
                row["readings"],
                row["reason"],
            )
            for row in islice(held, most)
        ]


def source_row_of(rows_file: Path, line: int) -> int | None:
    """The source's number of the row that begins at a line of our file; None if none does."""
    with rows_file.open(encoding="utf-8", newline="") as file:
        for entry in csv.DictReader(file):
            if int(entry["line"]) == line:
                return int(entry["source_row"])
    return None


class _KindOut:
    """One of our files while it is written, with the file of its rows' numbers."""

    def __init__(self, kind: FileKind, folder: Path, stack: ExitStack) -> None:
        self.path = folder / f"{kind.name}.csv"
        self.rows_path = folder / f"{kind.name}.rows.csv"
        self._columns = kind.columns
        self._out = csv.writer(_open(stack, self.path), lineterminator="\n")
        self._rows = csv.writer(_open(stack, self.rows_path), lineterminator="\n")
        self._out.writerow([column.name for column in kind.columns])
        self._rows.writerow(("line", "source_row"))
        self._line = 2

    def write(self, row: MappedRow) -> None:
        values = row.values
        cells = [
            cell_written(column, _one_spelling(values.get(column.name, "")))
            for column in self._columns
        ]
        self._out.writerow(cells)
        self._rows.writerow((self._line, row.source_row))
        self._line += 1 + sum(cell.count("\n") for cell in cells)


def _one_spelling(text: str) -> str:
    """Line ends in one form, so that lines are counted as a reader counts them."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _held_lines(row: MappedRow) -> Iterator[tuple[Any, ...]]:
    for column, cell in row.held.items():
        yield (
            row.kind,
            row.source_row,
            column,
            cell.state,
            cell.raw,
            " | ".join(cell.readings),
            cell.words,
        )


def _open(stack: ExitStack, path: Path) -> TextIO:
    return stack.enter_context(path.open("w", encoding="utf-8", newline=""))

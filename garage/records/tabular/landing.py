"""The rows of a table as they land in our import form, each cell with what it came from."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice

from garage.records.importing.columns import JOBS
from garage.records.job_lines.classify import Answers
from garage.records.tabular.cells import Cell, State
from garage.records.tabular.errors import MappingInvalid
from garage.records.tabular.evidence import Evidence, evidence_gather
from garage.records.tabular.fits import mapping_fits
from garage.records.tabular.job_lines import LineReader
from garage.records.tabular.layout import Layout, rows_sorted
from garage.records.tabular.line_column import JOB_LINE
from garage.records.tabular.mapping import Mapping
from garage.records.tabular.reading import RawTable, Row, Sheet
from garage.records.tabular.row_fill import KindFiller

PREVIEW_ROWS = 20


@dataclass(frozen=True, slots=True)
class LandingCell:
    """One of our cells and the source columns (none for a constant or what other cells tell)."""

    cell: Cell
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MappedRow:
    """A row of one kind; `source_row` is its number in the source.

    It lands only whole: with a cell that waits or is at fault it is held, and says which.
    """

    kind: str
    source_row: int
    cells: dict[str, LandingCell]

    @property
    def lands(self) -> bool:
        return not self.held

    @property
    def held(self) -> dict[str, Cell]:
        """The cells that hold the row back, by our column."""
        return {
            name: each.cell
            for name, each in self.cells.items()
            if each.cell.state in (State.WAITS, State.FAULT)
        }

    @property
    def values(self) -> dict[str, str]:
        """What is written to our file; empty cells have no entry."""
        return {
            name: each.cell.value
            for name, each in self.cells.items()
            if each.cell.state is State.VALUE
        }


@dataclass(frozen=True)
class Ready:
    """A table that fits its mapping, with what its columns prove."""

    sheet: Sheet
    layout: Layout
    evidence: Evidence
    fillers: tuple[KindFiller, ...]
    lines: LineReader


def table_ready(
    mapping: Mapping, table: RawTable, *, as_of: date, answers: Answers | None = None
) -> Ready:
    """Check the fit and read the table once for its evidence; MappingInvalid if it does not fit."""
    fit = mapping_fits(mapping, table)
    if not fit.fits or fit.layout is None:
        lost = [*fit.missing, *(each.was for each in fit.renamed)]
        raise MappingInvalid(
            *(
                f"the mapping uses the column {name!r}; the table has none of that name. Say which "
                "column it is now."
                for name in lost
            ),
            *(fit.remarks if fit.layout is None else ()),
        )
    sheet = table.sheet(fit.layout.sheet) or table.sheets[0]
    evidence = evidence_gather(sheet, fit.layout, as_of=as_of)
    fillers = tuple(KindFiller(use, mapping, evidence, as_of=as_of) for use in mapping.kinds)
    return Ready(sheet, fit.layout, evidence, fillers, LineReader(answers or {}))


def rows_mapped(mapping: Mapping, table: RawTable, *, as_of: date) -> Iterator[MappedRow]:
    """Every row of the table in every kind the mapping fills. The table is read twice.

    A vehicle's row comes once for each different thing said of it, for a line of every job names
    it again; all else comes row by row.
    """
    yield from ready_rows(table_ready(mapping, table, as_of=as_of))


def ready_rows(ready: Ready) -> Iterator[MappedRow]:
    """The same from a table that was checked."""
    said: set[int] = set()
    for row in rows_sorted(ready.sheet, ready.layout):
        if not isinstance(row, Row):
            continue
        for filler in ready.fillers:
            if filler.has_lines:
                read = ready.lines.take(row.number, filler.fill(row))
                yield from (_mapped(filler, number, cells) for number, cells in read)
                continue
            mapped = _mapped(filler, row.number, filler.fill(row))
            if filler.kind.name == "vehicles":
                key = hash(tuple(sorted(mapped.values.items())))
                if mapped.lands and key in said:
                    continue
                said.add(key)
            yield mapped
    for filler in ready.fillers:
        if filler.has_lines:
            yield from (_mapped(filler, number, cells) for number, cells in ready.lines.flush())


def preview(
    mapping: Mapping, table: RawTable, *, as_of: date, rows: int = PREVIEW_ROWS
) -> tuple[MappedRow, ...]:
    """The first rows of the source as they would land; the evidence is still of the whole file."""
    ready = table_ready(mapping, table, as_of=as_of)
    first = islice(
        (row.number for row in rows_sorted(ready.sheet, ready.layout) if isinstance(row, Row)), rows
    )
    wanted = set(first)
    last = max(wanted, default=0)
    has_lines = any(filler.has_lines for filler in ready.fillers)
    found = []
    for mapped in ready_rows(ready):
        # The rows of a job's lines come when its last is read.
        if mapped.source_row > last and (mapped.kind == JOBS.name or not has_lines):
            break
        if mapped.source_row <= last:
            found.append(mapped)
    return tuple(found)


def _mapped(filler: KindFiller, source_row: int, cells: dict[str, Cell]) -> MappedRow:
    line = filler.sources_of(JOB_LINE.name)
    return MappedRow(
        filler.kind.name,
        source_row,
        {
            name: LandingCell(cell, filler.sources_of(name) or (line if cell.raw else ()))
            for name, cell in cells.items()
        },
    )

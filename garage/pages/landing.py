"""The first rows of a table as they would land, kind by kind, for its page."""

from dataclasses import dataclass

from garage.records.tabular.landing import MappedRow
from garage.records.tabular.look import TableLook


@dataclass(frozen=True)
class LandingRow:
    """A row with the texts of its columns, and what holds it back."""

    number: int
    cells: tuple[str, ...]
    held: tuple[str, ...]


@dataclass(frozen=True)
class LandingTable:
    """One kind of our files, with those of its columns that any row fills."""

    kind: str
    columns: tuple[str, ...]
    rows: tuple[LandingRow, ...]


def landing_told(look: TableLook) -> list[LandingTable]:
    return [
        _table(kind.kind.name, rows)
        for kind in look.kinds
        if (rows := [each for each in look.preview if each.kind == kind.kind.name])
    ]


def _table(kind: str, rows: list[MappedRow]) -> LandingTable:
    filled = {name for row in rows for name in (*row.values, *row.held)}
    columns = tuple(name for name in rows[0].cells if name in filled)
    columns += tuple(sorted(filled - set(columns)))
    return LandingTable(
        kind,
        columns,
        tuple(
            LandingRow(
                row.source_row,
                tuple(row.values.get(name, "") for name in columns),
                tuple(
                    f"{name.replace('_', ' ')}: {cell.raw or 'empty'}"
                    + (f" ({' or '.join(cell.readings)})" if cell.readings else "")
                    + (f"; {cell.words}" if cell.words else "")
                    for name, cell in row.held.items()
                ),
            )
            for row in rows
        ),
    )

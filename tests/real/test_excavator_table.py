"""Published job lines of excavators, read as anybody's table: quotes, and a row that is shifted."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from garage.records.tabular.evidence import evidence_gather
from garage.records.tabular.landing import MappedRow, rows_mapped
from garage.records.tabular.layout import layout_find, rows_skipped
from garage.records.tabular.mapping import ColumnUse, KindUse, Mapping, mapping_draft
from garage.records.tabular.propose import columns_propose, kinds_fed
from garage.records.tabular.reading import RawTable, table_read

AS_OF = date(2013, 1, 1)


@pytest.fixture
def table(shared: Path) -> RawTable:
    return table_read(shared / "data" / "excavator-lines" / "excavators.csv")


def mapping_of(table: RawTable) -> Mapping:
    layout = layout_find(table.sheets[0])
    evidence = evidence_gather(table.sheets[0], layout, as_of=AS_OF)
    draft = mapping_draft(table, layout, kinds_fed(columns_propose(evidence)))
    # A person adds the cost, as parts and in one currency, and calls every line an inspection.
    (jobs,) = (kind for kind in draft.kinds if kind.kind == "jobs")
    kept = tuple(use for use in jobs.columns if use.column != "operation")
    added = (
        ColumnUse("operation", constant="inspect"),
        ColumnUse("note", ("OriginalShorttext",)),
        ColumnUse("parts_cost", ("Cost",)),
        ColumnUse("currency", constant="AUD"),
    )
    return replace(draft, kinds=(KindUse("jobs", (*kept, *added)),))


def held(rows: Iterator[MappedRow]) -> dict[int, set[str]]:
    return {row.source_row: set(row.held) for row in rows if not row.lands}


def test_columns_are_found(table: RawTable) -> None:
    jobs = mapping_of(table).kinds[0]
    sources = {use.column: use.sources for use in jobs.columns}
    assert sources["vehicle_ref"] == ("Asset",)
    assert sources["opened_on"] == ("BscStartDate",)
    assert sources["job_ref"] == ("Asset", "BscStartDate")


def test_quotes_escaped_two_ways_keep_the_columns(table: RawTable, shared: Path) -> None:
    """14 lines have a backslash left of a doubled mark: the cells are right, and it stays."""
    sheet = table.sheets[0]
    texts = [str(row.cells[2]) for row in sheet.rows() if "\\" in str(row.cells[2])]
    assert len(texts) == 14
    assert 'Lube fault \\A\\" line pressure too low"' in texts
    # Second way: the standard library's reader in its plain form.
    with (shared / "data" / "excavator-lines" / "excavators.csv").open(newline="") as file:
        plain = [cells for cells in csv.reader(file) if "\\" in cells[2]]
    assert [cells[2] for cells in plain] == texts


def test_shifted_row_is_held_and_named(table: RawTable) -> None:
    """It has as many cells as the others, so only its cells can tell: its cost is no number."""
    assert [
        each.reason for each in rows_skipped(table.sheets[0], layout_find(table.sheets[0]))
    ] == ["column names"]
    found = held(rows_mapped(mapping_of(table), table, as_of=AS_OF))
    assert found[3454] == {"parts_cost"}
    # Credits stand as negative costs; the import takes none, and no other row is held.
    others = {number for number in found if number != 3454}
    cells = {row.number: str(row.cells[4]) for row in table.sheets[0].rows()}
    assert all(cells[number].startswith("-") for number in others)

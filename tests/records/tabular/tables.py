"""Made-up tables for the tests, and short ways to read them."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl

from garage.records.tabular.evidence import Evidence, evidence_gather
from garage.records.tabular.landing import MappedRow, rows_mapped
from garage.records.tabular.layout import Layout, layout_find
from garage.records.tabular.mapping import Mapping, ValueMap, mapping_draft
from garage.records.tabular.propose import columns_propose, kinds_fed
from garage.records.tabular.reading import CellValue, RawTable, table_read
from garage.records.tabular.settle import Rule

AS_OF = date(2026, 6, 1)


def table_of(folder: Path, text: str, *, encoding: str = "utf-8", name: str = "t.csv") -> RawTable:
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return table_read(path)


def workbook_of(folder: Path, rows: list[list[object]], *, epoch: object = None) -> RawTable:
    book = openpyxl.Workbook()
    if epoch is not None:
        book.epoch = epoch
    for row in rows:
        book.active.append(row)
    path = folder / "t.xlsx"
    book.save(path)
    return table_read(path)


def cells_of(table: RawTable) -> list[list[CellValue]]:
    return [row.cells for row in table.sheets[0].rows()]


def evidence_of(table: RawTable) -> tuple[Layout, Evidence]:
    layout = layout_find(table.sheets[0])
    return layout, evidence_gather(table.sheets[0], layout, as_of=AS_OF)


def draft_of(
    table: RawTable, *, values: ValueMap | None = None, rules: tuple[Rule, ...] = ()
) -> Mapping:
    layout, evidence = evidence_of(table)
    draft = mapping_draft(table, layout, kinds_fed(columns_propose(evidence)))
    return replace(draft, values=values or {}, rules=rules)


def landed(
    table: RawTable,
    kind: str,
    *,
    values: ValueMap | None = None,
    rules: tuple[Rule, ...] = (),
) -> list[MappedRow]:
    draft = draft_of(table, values=values, rules=rules)
    return [row for row in rows_mapped(draft, table, as_of=AS_OF) if row.kind == kind]

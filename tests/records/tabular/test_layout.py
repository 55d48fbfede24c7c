"""Where the table is: every row of the sheet is a row of the table or skipped with a reason."""

from pathlib import Path

import pytest

from garage.records.tabular import layout as rules
from garage.records.tabular.layout import Skipped, layout_find, rows_skipped, rows_sorted
from garage.records.tabular.reading import RawTable, Row
from tests.records.tabular.tables import table_of, workbook_of

PLAIN = "Job no;Date;Odometer;Work;Cost\n1;2024-03-01;84512;filter;5\n2;2024-03-02;84513;hose;6\n"


def numbers(table: RawTable) -> list[int]:
    sheet = table.sheets[0]
    return [row.number for row in rows_sorted(sheet, layout_find(sheet)) if isinstance(row, Row)]


def reasons(table: RawTable) -> dict[int, str]:
    sheet = table.sheets[0]
    return {each.first: each.reason for each in rows_skipped(sheet, layout_find(sheet))}


def test_header_on_the_first_line(tmp_path: Path) -> None:
    table = table_of(tmp_path, PLAIN)
    assert layout_find(table.sheets[0]).headers == ("Job no", "Date", "Odometer", "Work", "Cost")
    assert numbers(table) == [2, 3]


def test_titles_above_are_skipped_with_reason(tmp_path: Path) -> None:
    table = table_of(tmp_path, "Birch Lane;;;;\nJobs of 2024;;;;\n\n" + PLAIN)
    assert numbers(table) == [5, 6]
    assert reasons(table) == {1: rules.TITLE, 3: rules.BLANK, 4: rules.HEADER}


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("Job no;Date;Odometer;Work;Cost", rules.REPEATED),
        ("Total;;;;11", rules.TOTALS),
        ("Grand total:;;;;11", rules.TOTALS),
        ("printed by the workshop;;;;", rules.NOTE),
        ("3;2024-03-03;84514;fil;ter;7", rules.WIDE),
        ("3;2024-03-03", rules.SHORT),
        (";;;;", rules.BLANK),
    ],
)
def test_row_that_is_none_is_skipped_with_reason(tmp_path: Path, line: str, reason: str) -> None:
    table = table_of(tmp_path, PLAIN + line + "\n4;2024-03-04;84515;hose;6\n")
    assert numbers(table) == [2, 3, 5]
    assert reasons(table)[4] == reason


def test_job_about_a_total_is_a_row(tmp_path: Path) -> None:
    table = table_of(tmp_path, PLAIN + "Total;2024-03-04;84515;hose;6\n")
    assert numbers(table) == [2, 3, 4]


def test_header_of_two_lines_is_joined(tmp_path: Path) -> None:
    text = "Job no;Date;Odometer;;Work\n;;reading;unit;\n1;2024-03-01;84512;mi;hose\n"
    table = table_of(tmp_path, text + "2;2024-03-02;84513;mi;hose\n")
    found = layout_find(table.sheets[0])
    assert found.headers == ("Job no", "Date", "Odometer reading", "Odometer unit", "Work")
    assert found.header_rows == (1, 2)


def test_columns_of_one_name_are_numbered(tmp_path: Path) -> None:
    table = table_of(tmp_path, "Job no;Date;Date\n1;2024-03-01;2024-03-02\n")
    assert layout_find(table.sheets[0]).headers == ("Job no", "Date", "Date (2)")


def test_table_without_header_has_numbered_columns(tmp_path: Path) -> None:
    table = table_of(tmp_path, "1;2024-03-01;84512\n2;2024-03-02;84513\n")
    assert layout_find(table.sheets[0]).headers == ("column 1", "column 2", "column 3")
    assert numbers(table) == [1, 2]


def test_rows_that_often_end_early_are_filled_up(tmp_path: Path) -> None:
    table = table_of(tmp_path, PLAIN + "3;2024-03-03\n4;2024-03-04\n5;2024-03-05\n")
    assert numbers(table) == [2, 3, 4, 5, 6]


def test_every_row_is_accounted_for(tmp_path: Path) -> None:
    text = "Title;;;;\n\n" + PLAIN + "\n\nTotal;;;;11\n" + PLAIN + "note;;;;\n\n"
    table = table_of(tmp_path, text)
    sheet = table.sheets[0]
    seen: list[int] = []
    for each in rows_sorted(sheet, layout_find(sheet)):
        last = each.last if isinstance(each, Skipped) else each.number
        first = each.first if isinstance(each, Skipped) else each.number
        seen += range(first, last + 1)
    assert seen == list(range(1, text.count("\n") + 1))


def test_workbook_with_titles_and_total(tmp_path: Path) -> None:
    table = workbook_of(
        tmp_path,
        [
            ["Jobs of the year"],
            [],
            [None, "Job no", "Date", "Cost"],
            [None, 1, "2024-03-01", 5.5],
            [None, 2, "2024-03-02", 6.5],
            [None, "Total", None, 12.0],
        ],
    )
    assert numbers(table) == [4, 5]
    assert reasons(table)[6] == rules.TOTALS

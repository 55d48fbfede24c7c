"""What becomes of each cell: a value, a wait with its readings, or a fault in words."""

import csv
from datetime import date
from pathlib import Path

import pytest

from garage.records.errors import RuleBroken
from garage.records.importing.cells import cell_reader
from garage.records.importing.columns import JOBS, ODOMETER
from garage.records.importing.reading import source_open
from garage.records.importing.rows import RowReader
from garage.records.tabular.cells import State
from garage.records.tabular.errors import MappingInvalid
from garage.records.tabular.landing import MappedRow, preview, rows_mapped
from garage.records.tabular.reading import RawTable
from garage.records.tabular.settle import Rule, Setting
from garage.records.tabular.writing import files_write, source_row_of
from tests.records.tabular.tables import AS_OF, draft_of, landed, table_of, workbook_of


def readings(
    folder: Path, dates: list[str], odometers: list[str] | None = None, header: str = "Mileage (km)"
) -> RawTable:
    odometers = odometers or [f"{1000 + n}" for n in range(len(dates))]
    lines = (
        f"V{n};{day};{odometer}"
        for n, (day, odometer) in enumerate(zip(dates, odometers, strict=True))
    )
    return table_of(folder, f"Vehicle;Date;{header}\n" + "\n".join(lines) + "\n")


def cells(rows: list[MappedRow], column: str) -> list[str | tuple[str, ...]]:
    """A value as text, a wait as its readings, a fault as `fault`."""
    told: list[str | tuple[str, ...]] = []
    for row in rows:
        cell = row.cells[column].cell
        told.append(cell.readings if cell.state is State.WAITS else cell.value or cell.state)
    return told


@pytest.mark.parametrize(
    ("dates", "expected"),
    [
        (["13/02/24", "03/04/24"], ["2024-02-13", "2024-04-03"]),
        (["02/13/24", "03/04/24"], ["2024-02-13", "2024-03-04"]),
        (
            ["13/02/24", "02/13/24", "03/04/24"],
            ["2024-02-13", "2024-02-13", ("2024-03-04", "2024-04-03")],
        ),
        (["03/04/24", "05/05/24"], [("2024-03-04", "2024-04-03"), "2024-05-05"]),
        (["24-11-28", "03-04-05"], ["2024-11-28", "2003-04-05"]),
        (["2024-03-01", "3 Apr 2024", "03/04/24"], ["2024-03-01", "2024-04-03", None]),
        (["31/02/24", "13/02/24"], ["fault", "2024-02-13"]),
    ],
)
def test_dates_follow_what_the_whole_file_proves(
    tmp_path: Path, dates: list[str], expected: list[str | tuple[str, ...] | None]
) -> None:
    rows = landed(readings(tmp_path, dates), "odometer")
    for got, wanted in zip(cells(rows, "read_on"), expected, strict=True):
        assert got == (wanted or ("2024-03-04", "2024-04-03"))


def test_proof_at_the_end_of_a_file_holds_for_its_start(tmp_path: Path) -> None:
    rows = landed(readings(tmp_path, ["03/04/24"] * 500 + ["13/04/24"]), "odometer")
    assert cells(rows, "read_on")[0] == "2024-04-03"


def test_header_that_states_the_order_settles_it(tmp_path: Path) -> None:
    table = table_of(tmp_path, "Vehicle;Date (MM/DD/YYYY);km\nV1;03/04/2024;5\n")
    assert cells(landed(table, "odometer"), "read_on") == ["2024-03-04"]


def test_rule_decides_ambiguous_cells_and_no_others(tmp_path: Path) -> None:
    table = readings(tmp_path, ["13/02/24", "02/13/24", "03/04/24"])
    rule = Rule("Date", Setting.DATE_ORDER, "month_first")
    assert cells(landed(table, "odometer", rules=(rule,)), "read_on") == [
        "2024-02-13",
        "2024-02-13",
        "2024-03-04",
    ]


def test_rule_for_one_source_leaves_the_others_waiting(tmp_path: Path) -> None:
    text = "Vehicle;Date;km;Site\nV1;13/02/24;5;North\nV1;02/13/24;6;South\n"
    table = table_of(tmp_path, text + "V1;03/04/24;7;North\nV1;03/04/24;8;South\n")
    rule = Rule("Date", Setting.DATE_ORDER, "day_first", "Site", "north")
    got = cells(landed(table, "odometer", rules=(rule,)), "read_on")
    assert got[2:] == ["2024-04-03", ("2024-03-04", "2024-04-03")]


def test_serial_number_waits_and_a_rule_settles_it(tmp_path: Path) -> None:
    table = workbook_of(tmp_path, [["Vehicle", "Date", "km"], ["V1", 43890.0, 5], ["V2", 43891, 6]])
    assert cells(landed(table, "odometer"), "read_on")[0] == ("2020-02-29", "2024-03-01")
    rule = Rule("Date", Setting.SERIAL_EPOCH, "epoch_1904")
    assert cells(landed(table, "odometer", rules=(rule,)), "read_on")[0] == "2024-03-01"


@pytest.mark.parametrize(
    ("odometers", "expected"),
    [
        (["84.512", "136.000"], [("84.51", "84512"), ("136", "136000")]),
        (["84.512", "1.136.000"], ["84512", "1136000"]),
        (["84,512", "136,5"], ["84.51", "136.5"]),
        (["84,512", "84,5", "84.5"], [("84512", "84.51"), "84.5", "84.5"]),
        (["84512", "136000.5"], ["84512", "136000.5"]),
        (["-5", "12"], ["fault", "12"]),
        (["n/a", "12"], ["fault", "12"]),
    ],
)
def test_decimals_follow_what_the_whole_file_proves(
    tmp_path: Path, odometers: list[str], expected: list[str | tuple[str, ...]]
) -> None:
    table = readings(tmp_path, ["2024-03-01"] * len(odometers), odometers)
    assert cells(landed(table, "odometer"), "odometer") == expected


def test_rounding_is_told(tmp_path: Path) -> None:
    table = readings(tmp_path, ["2024-03-01"] * 2, ["84,512", "136,5"])
    cell = landed(table, "odometer")[0].cells["odometer"].cell
    assert cell.words == "rounded from 84.512 to two decimals"


@pytest.mark.parametrize(
    ("header", "odometers", "units"),
    [
        ("Mileage", ["84512 mi", "5 mi"], ["mi", "mi"]),
        ("Mileage", ["84512 mi", "5"], ["mi", "mi"]),
        ("Mileage", ["84512 mi", "5 km", "7"], ["mi", "km", ("km", "mi")]),
        ("Mileage", ["84512", "5"], [("km", "mi"), ("km", "mi")]),
        ("Mileage (km)", ["84512", "5"], ["km", "km"]),
        ("Mileage (km)", ["84512", "5 mi"], [("km", "mi"), "mi"]),
    ],
)
def test_units_come_from_cells_and_names_alone(
    tmp_path: Path, header: str, odometers: list[str], units: list[str | tuple[str, ...]]
) -> None:
    table = readings(tmp_path, ["2024-03-01"] * len(odometers), odometers, header)
    got = cells(landed(table, "odometer"), "unit")
    assert [sorted(each) if isinstance(each, tuple) else each for each in got] == [
        sorted(each) if isinstance(each, tuple) else each for each in units
    ]


JOBS_TEXT = (
    "Job no;Vehicle;Date;Work;Parts net\n"
    "1;V1;2024-03-01;R&R filter;{}\n"
    "2;V1;2024-03-02;forced regen;{}\n"
)
MEANINGS = {
    "Work": {
        "r&r filter": {"operation": "replace", "part_kind": "particulate_filter"},
        "FORCED  regen": {"operation": "regenerate_stationary"},
    }
}


@pytest.mark.parametrize(
    ("amounts", "currencies"),
    [
        (("€ 5", "€ 6"), ["EUR", "EUR"]),
        (("€ 5", "6"), ["EUR", "EUR"]),
        (("€ 5", "£6"), ["EUR", "GBP"]),
        (("$5", "$6"), [("AUD", "CAD", "NZD", "USD")] * 2),
    ],
)
def test_currencies_come_from_cells_alone(
    tmp_path: Path, amounts: tuple[str, str], currencies: list[str | tuple[str, ...]]
) -> None:
    table = table_of(tmp_path, JOBS_TEXT.format(*amounts))
    assert cells(landed(table, "jobs", values=MEANINGS), "currency") == currencies


def test_two_currencies_leave_bare_amounts_waiting(tmp_path: Path) -> None:
    text = JOBS_TEXT.format("€ 5", "£6") + "3;V1;2024-03-03;R&R filter;7\n"
    got = landed(table_of(tmp_path, text), "jobs", values=MEANINGS)[2].cells["currency"].cell
    assert got.state is State.WAITS
    assert "proves more than one" in got.words


def test_distance_in_an_amount_is_a_fault(tmp_path: Path) -> None:
    table = table_of(tmp_path, JOBS_TEXT.format("5 km", "6"))
    assert cells(landed(table, "jobs", values=MEANINGS), "parts_cost") == ["fault", "6"]


def test_confirmed_meaning_fills_several_columns(tmp_path: Path) -> None:
    table = table_of(tmp_path, JOBS_TEXT.format("€5", "€6"))
    first, second = landed(table, "jobs", values=MEANINGS)
    assert first.lands
    assert first.values["operation"] == "replace"
    assert first.values["part_kind"] == "particulate_filter"
    assert second.values["operation"] == "regenerate_stationary"


def test_meaning_that_nobody_confirmed_waits_with_the_proposal(tmp_path: Path) -> None:
    row = landed(table_of(tmp_path, JOBS_TEXT.format("€5", "€6")), "jobs")[0]
    assert not row.lands
    assert row.held["operation"].readings == ("replace",)


def test_our_own_code_needs_no_confirmation(tmp_path: Path) -> None:
    text = "Job no;Vehicle;Date;Work\n1;V1;2024-03-01;Clear codes\n"
    assert cells(landed(table_of(tmp_path, text), "jobs"), "operation") == ["clear_codes"]


def test_fault_of_the_import_is_told_before_it(tmp_path: Path) -> None:
    rows = landed(readings(tmp_path, ["2024-03-01", "2031-03-01"]), "odometer")
    assert "no record lies in the future" in rows[1].held["read_on"].words


def test_vehicle_of_many_jobs_comes_once(tmp_path: Path) -> None:
    assert len(landed(table_of(tmp_path, JOBS_TEXT.format(1, 2)), "vehicles")) == 1


def test_needed_cell_that_is_empty_is_a_fault(tmp_path: Path) -> None:
    rows = landed(readings(tmp_path, ["2024-03-01", "-"]), "odometer")
    assert rows[1].held["read_on"].words.startswith("read_on is needed")


def test_preview_shows_the_first_rows_by_the_evidence_of_all(tmp_path: Path) -> None:
    table = readings(tmp_path, ["03/04/24"] * 30 + ["13/04/24"])
    draft = draft_of(table)
    shown = [row for row in preview(draft, table, as_of=AS_OF, rows=5) if row.kind == "odometer"]
    assert [row.source_row for row in shown] == [2, 3, 4, 5, 6]
    assert shown[0].cells["read_on"].sources == ("Date",)
    assert shown[0].values["read_on"] == "2024-04-03"


def test_table_without_a_used_column_is_refused(tmp_path: Path) -> None:
    draft = draft_of(readings(tmp_path, ["2024-03-01"]))
    other = table_of(tmp_path, "Vehicle;Day;Cost\nV1;2024-03-01;5\n", name="other.csv")
    with pytest.raises(MappingInvalid, match="uses the column 'Mileage"):
        list(rows_mapped(draft, other, as_of=AS_OF))


def test_files_are_as_the_import_wants_them(tmp_path: Path) -> None:
    text = "Report;;\n\n" + "Vehicle;Date;Mileage (km);Remark\n"
    text += 'V1;13.02.24;5;"a\nb"\nV1;soon;6;\nTotal;;11;\nV2;28.02.24;7;\n'
    text += "V3;28.02.24;8;\nV3;29.02.24;9;\nV3;31.03.24;10;\n"
    table = table_of(tmp_path, text)
    written = files_write(draft_of(table), table, tmp_path, as_of=AS_OF)
    assert written.landed["odometer"] == 5
    assert written.held["odometer"] == 1
    assert written.source_rows == 6
    source = source_open(ODOMETER, written.files["odometer"])
    (chunk,) = RowReader(source, as_of=AS_OF).chunks()
    assert [row.faults for row in chunk] == [[]] * 5
    assert chunk[1].values["read_on"] == date(2024, 2, 28)
    numbers = [source_row_of(written.rows_of["odometer"], row.raw.line) for row in chunk]
    assert numbers == [4, 8, 9, 10, 11]
    with written.held_file.open(encoding="utf-8", newline="") as file:
        held = list(csv.DictReader(file))
    assert [(each["source_row"], each["state"]) for each in held] == [
        ("1", "skipped"),
        ("7", "skipped"),
        ("6", "fault"),
    ]


def test_lines_of_notes_do_not_shift_the_numbers(tmp_path: Path) -> None:
    text = 'Job no;Vehicle;Date;Work;Notes\n1;V1;2024-03-01;inspect;"a\r\nb\nc"\n'
    text += "2;V1;2024-03-02;inspect;\n"
    table = table_of(tmp_path, text)
    written = files_write(draft_of(table), table, tmp_path, as_of=AS_OF)
    source = source_open(JOBS, written.files["jobs"])
    (chunk,) = RowReader(source, as_of=AS_OF).chunks()
    assert [source_row_of(written.rows_of["jobs"], row.raw.line) for row in chunk] == [2, 5]


def test_text_that_looks_like_a_formula_arrives_as_it_was(tmp_path: Path) -> None:
    notes = ["=1+1", "'=1+1", "'tis", "- hoses"]
    text = "Job no;Vehicle;Date;Work;Notes\n" + "".join(
        f"{n};V1;2024-03-01;inspect;{note}\n" for n, note in enumerate(notes)
    )
    table = table_of(tmp_path, text)
    written = files_write(draft_of(table), table, tmp_path, as_of=AS_OF)
    source = source_open(JOBS, written.files["jobs"])
    (chunk,) = RowReader(source, as_of=AS_OF).chunks()
    assert [row.values["note"] for row in chunk] == notes


def test_row_that_lands_is_taken_by_the_import_cell_by_cell(tmp_path: Path) -> None:
    table = table_of(tmp_path, JOBS_TEXT.format("€1.234,56", "€0,99"))
    for row in landed(table, "jobs", values=MEANINGS):
        assert row.lands
        for name, value in row.values.items():
            try:
                cell_reader(JOBS.by_name[name], as_of=AS_OF)(value)
            except RuleBroken as broken:
                pytest.fail(str(broken))

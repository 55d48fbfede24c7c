"""Cells that come again are read once, and every row still says all that it says."""

from datetime import date
from pathlib import Path

from garage.records.importing import rows as rows_module
from garage.records.importing.columns import JOBS
from garage.records.importing.reading import source_open
from garage.records.importing.rows import ReadRow, RowReader

AS_OF = date(2024, 6, 1)
HEADER = "job_ref,vehicle_ref,opened_on,odometer,unit,repaired_elsewhere,operation,complaint"


def read(folder: Path, *lines: str) -> list[ReadRow]:
    path = folder / "jobs.csv"
    path.write_text("\n".join((HEADER, *lines)) + "\n", "utf-8")
    (chunk,) = RowReader(source_open(JOBS, path), as_of=AS_OF).chunks()
    return chunk


def test_cell_that_comes_again_says_the_same(tmp_path: Path) -> None:
    first, second = read(tmp_path, *["J1,V1,2024-02-29,7.50,km,fuel air,repair,smokes"] * 2)
    assert first.values == second.values
    assert second.values["opened_on"] == date(2024, 2, 29)
    assert second.values["repaired_elsewhere"] == ["air", "fuel"]
    assert first.faults == second.faults == []


def test_cells_of_different_columns_are_read_apart(tmp_path: Path) -> None:
    (row,) = read(tmp_path, "7,7,2024-02-29,7,km,none,repair,none")
    assert (row.values["job_ref"], row.values["odometer"]) == ("7", 7)
    assert (row.values["repaired_elsewhere"], row.values["complaint"]) == ([], "none")


def test_fault_that_comes_again_is_told_again(tmp_path: Path) -> None:
    first, second = read(tmp_path, *["J1,V1,2024-02-30,7,km,,repair,"] * 2)
    assert [fault.column for fault in first.faults] == ["opened_on"]
    assert first.faults == second.faults
    assert "opened_on" not in second.values


def test_blank_cell_that_comes_again_is_empty_again(tmp_path: Path) -> None:
    for row in read(tmp_path, *["J1,V1,2024-02-29,7,km,,   ,  "] * 2):
        assert "complaint" not in row.values
        assert [fault.rule for fault in row.faults] == ["operation is needed"]


def test_cells_beyond_those_remembered_are_read_too(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(rows_module, "CELLS_REMEMBERED", 1)
    refs = [
        row.values["job_ref"]
        for row in read(tmp_path, *(f"J{i % 3},,,,,,repair," for i in range(9)))
    ]
    assert refs == ["J0", "J1", "J2"] * 3

"""The file of rejected rows: complete, importable once corrected, and never in the way."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from garage.records.importing.columns import FAULT_COLUMNS
from garage.records.importing.faults import ImportRefused
from garage.records.models import Vehicle
from garage.records.services.history_import import history_import
from tests.records.importing.conftest import Importer, counts, faults

TWO_FAULTS = """
vehicle_ref | duty | first_used_on
V1          | taxi | 2020-01-01
V2          | bus  | 1.2.2020
"""


def rejected(importer: Importer, kind: str = "vehicles") -> Path:
    return importer.folder / f"{kind}.csv.rejected.csv"


def lines(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.reader(stream))


def test_rejected_row_stands_as_it_came_with_all_its_faults(importer: Importer) -> None:
    summary = importer.one(vehicles=TWO_FAULTS)
    assert counts(summary) == (1, 0, 0, 1)
    assert summary.rejected_path == rejected(importer)
    header, row = lines(summary.rejected_path)
    assert header == [*FAULT_COLUMNS, "vehicle_ref", "duty", "first_used_on"]
    assert row[:3] == ["vehicles.csv", "3", "duty | first_used_on"]
    assert row[3].count(" | ") == row[4].count(" | ") == row[5].count(" | ") == 1
    assert row[4] == "bus | 1.2.2020"
    assert row[6:] == ["V2", "bus", "1.2.2020"]


def test_corrected_file_is_imported_as_it_is(importer: Importer) -> None:
    importer(vehicles=TWO_FAULTS)
    path = rejected(importer)
    header, row = lines(path)
    row[7:] = ["town", "2020-02-01"]
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([header, row])
    assert counts(importer.one(vehicles=path)) == (1, 0, 0, 0)
    assert Vehicle.objects.get(ref="V2").duty == "town"


def test_uncorrected_file_is_rejected_again_and_keeps_its_form(importer: Importer) -> None:
    importer(vehicles=TWO_FAULTS)
    before = lines(rejected(importer))
    again = importer.one(vehicles=rejected(importer))
    assert counts(again) == (0, 0, 0, 1)
    after = lines(again.rejected_path)
    assert after[0] == before[0]
    assert after[1][:2] == ["vehicles.csv.rejected.csv", "2"]
    assert after[1][2:] == before[1][2:]


@pytest.mark.parametrize("cells", ["V2,taxi,2020-01-01,what,else", "V2,taxi"])
def test_row_of_wrong_length_loses_nothing(importer: Importer, cells: str) -> None:
    path = importer.folder / "vehicles.csv"
    path.write_text(f"vehicle_ref,duty,first_used_on\n{cells}\nV3,taxi,2020-01-01\n")
    summary = importer.one(vehicles=path)
    assert counts(summary) == (1, 0, 0, 1)
    assert lines(summary.rejected_path)[1][len(FAULT_COLUMNS) :] == cells.split(",")
    # Not corrected, it is still of the wrong length.
    assert counts(importer.one(vehicles=summary.rejected_path)) == (0, 0, 0, 1)


def test_cells_come_back_byte_for_byte(importer: Importer) -> None:
    odd = [" V2 ", '=HYPERLINK("x")', "a\rb\nc\x00", "é 漢 \u202e"]
    path = importer.folder / "vehicles.csv"
    with path.open("w", encoding="utf-8-sig", newline="") as stream:
        csv.writer(stream).writerows([["vehicle_ref", "duty", "vin", "registration"], odd])
    summary = importer.one(vehicles=path)
    assert counts(summary) == (0, 0, 0, 1)
    assert lines(summary.rejected_path)[1][len(FAULT_COLUMNS) :] == odd
    assert summary.rejected_path.read_bytes().startswith(b"\xef\xbb\xbf")


def test_fault_cells_are_no_formula(importer: Importer) -> None:
    summary = importer.one(vehicles="vehicle_ref | duty\nV1 | =1+1")
    assert faults(summary)[0][3] == "'=1+1"


def test_run_without_rejects_leaves_no_file_and_removes_its_own_stale_one(
    importer: Importer,
) -> None:
    importer(vehicles=TWO_FAULTS)
    assert rejected(importer).exists()
    importer(vehicles=TWO_FAULTS.replace("bus", "town").replace("1.2.2020", "2020-02-01"))
    assert not rejected(importer).exists()
    assert [path.name for path in importer.folder.iterdir()] == ["vehicles.csv"]


def test_file_of_another_kind_under_that_name_is_left_alone(importer: Importer) -> None:
    rejected(importer).write_text("a person's notes\n")
    importer(vehicles="vehicle_ref\nV1")
    assert rejected(importer).read_text() == "a person's notes\n"


def test_refused_run_leaves_the_stale_file(importer: Importer) -> None:
    importer(vehicles=TWO_FAULTS)
    with pytest.raises(ImportRefused):
        importer(vehicles="vehicle_ref | colour\nV1 | red")
    assert rejected(importer).exists()


def test_rejected_rows_go_to_the_folder_named(importer: Importer) -> None:
    request = importer.request(vehicles=TWO_FAULTS)
    folder = importer.folder / "new" / "folder"
    summary = history_import(request=replace(request, rejected_to=folder))
    assert summary.files[0].rejected_path == folder / "vehicles.csv.rejected.csv"
    assert not rejected(importer).exists()


def test_two_files_cannot_share_a_file_of_rejected_rows(importer: Importer) -> None:
    other = importer.folder / "other"
    other.mkdir()
    (other / "vehicles.csv").write_text("job_ref,operation\n")
    request = importer.request(vehicles=TWO_FAULTS, jobs=other / "vehicles.csv")
    with pytest.raises(ImportRefused, match="a file of their own"):
        history_import(request=replace(request, rejected_to=importer.folder / "out"))


def test_rejected_rows_never_overwrite_a_file_being_imported(importer: Importer) -> None:
    importer(vehicles=TWO_FAULTS)
    jobs = importer.file("jobs", "job_ref | operation").rename(
        importer.folder / "vehicles.csv.rejected.csv"
    )
    with pytest.raises(ImportRefused, match="a file of their own"):
        importer(vehicles=TWO_FAULTS, jobs=jobs)


def test_folder_that_cannot_be_written_undoes_the_file(importer: Importer) -> None:
    (importer.folder / "blocked").write_text("a file where a folder should be")
    request = importer.request(vehicles=TWO_FAULTS)
    with pytest.raises(ImportRefused, match="--rejected-to"):
        history_import(request=replace(request, rejected_to=importer.folder / "blocked"))
    assert not Vehicle.objects.exists()

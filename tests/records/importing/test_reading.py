"""The form of a file: encoding, header, quotes, lines."""

import csv
from pathlib import Path

import pytest

from garage.records.importing import reading
from garage.records.importing.columns import JOBS, ODOMETER, VEHICLES
from garage.records.importing.faults import ImportRefused
from garage.records.importing.reading import RawRow, source_open, source_rows


@pytest.fixture
def written(tmp_path: Path):
    def write(content: bytes) -> Path:
        path = tmp_path / "vehicles.csv"
        path.write_bytes(content)
        return path

    return write


def rows_of(path: Path) -> list[RawRow]:
    return list(source_rows(source_open(VEHICLES, path)))


def refusal(path: Path, kind=VEHICLES) -> str:
    with pytest.raises(ImportRefused) as refused:
        source_open(kind, path)
    return str(refused.value)


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n", b"\r"])
def test_byte_order_mark_and_line_ends_do_not_matter(written, mark: bytes, line_end: bytes) -> None:
    path = written(mark + line_end.join([b"duty,vehicle_ref", b"taxi,V1", b",V2", b""]))
    source = source_open(VEHICLES, path)
    assert source.columns == ("duty", "vehicle_ref")
    assert source.row_count == 2
    assert source.has_byte_order_mark is bool(mark)
    assert [row.cells for row in source_rows(source)] == [["taxi", "V1"], ["", "V2"]]


def test_rows_carry_the_line_they_begin_on(written) -> None:
    path = written(b'vehicle_ref,duty\n"V\n1",\n\n , \nV2,taxi\n')
    assert rows_of(path) == [RawRow(2, ["V\n1", ""]), RawRow(6, ["V2", "taxi"])]


def test_empty_columns_at_the_end_are_passed_over(written) -> None:
    assert source_open(VEHICLES, written(b"vehicle_ref,duty,,\nV1,taxi,,\n")).columns == (
        "vehicle_ref",
        "duty",
    )


def test_fault_columns_are_no_unknown_columns(written) -> None:
    path = written(b"fault_file,fault_line,vehicle_ref\nold.csv,7,V1\n")
    assert source_open(VEHICLES, path).row_count == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "got an empty file"),
        (b"\n\n", "got an empty file"),
        (b"V1,taxi\nV2,town\n", "the first line names the columns of a vehicles file"),
        (b"vehicle_ref;duty\nV1;taxi\n", "separated by semicolons"),
        (b"vehicle_ref\tduty\nV1\ttaxi\n", "separated by tabs"),
        (b"vehicle_ref,duty,duty\n", "got 'duty' 2 times"),
        (b"vehicle_ref,,duty\n", "got none for column 2"),
        (b"vehicle_ref,Duty\n", "has no column 'Duty'. Perhaps duty is meant"),
        (b"vehicle_ref,first_use\n", "Perhaps first_used_on is meant"),
        (b"vehicle_ref,colour_of_seats\n", "Remove it, or use one of vehicle_ref"),
        (b"duty,vin\n", "got none named vehicle_ref"),
        ("vehicle_ref\nV1\n".encode("utf-16"), "got UTF-16"),
        (b"vehicle_ref,vin\nV1,\nV\xe9,\nV\xe8,\n", "line 3 (byte 0xE9), line 4 (byte 0xE8)"),
        (b'vehicle_ref\nV1\n"V2\nV3\n', "line 3: a cell with a comma"),
        (b'vehicle_ref,duty\n"V1"x,taxi\n', "line 2: a cell with a comma"),
        (b"vehicle_ref\n" + b"V" * 200_000 + b"\n", "field larger than field limit"),
    ],
)
def test_file_of_wrong_form_is_refused(written, content: bytes, said: str) -> None:
    assert said in refusal(written(content))


def test_all_faults_of_a_first_line_are_named_at_once(written) -> None:
    message = refusal(written(b"vin,vin,colour,\xc3\xa9tat\n"))
    assert message.count("\n") == 3
    for word in ("'vin' 2 times", "'colour'", "'état'", "named vehicle_ref"):
        assert word in message


def test_required_columns_differ_by_kind(written) -> None:
    assert "got none named read_on, odometer, unit" in refusal(written(b"vehicle_ref\n"), ODOMETER)
    assert "got none named operation" in refusal(written(b"job_ref\n"), JOBS)


def test_endless_line_is_refused_without_reading_it_whole(
    written, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "MAX_LINE_CHARACTERS", 100)
    assert "line 2: a line has fewer than 100" in refusal(written(b"vehicle_ref\n" + b"V" * 150))


def test_missing_file_and_folder_are_refused(tmp_path: Path) -> None:
    assert "No such file" in refusal(tmp_path / "none.csv")
    assert "regular file" in refusal(tmp_path)


def test_nul_is_left_to_the_row(written) -> None:
    assert rows_of(written(b"vehicle_ref\nV\x001\n")) == [RawRow(2, ["V\x001"])]


def test_limit_named_in_the_reference_is_the_readers() -> None:
    assert csv.field_size_limit() == 131_072

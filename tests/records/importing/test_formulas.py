"""Text that a spreadsheet would compute: written harmlessly, and read back as it was."""

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from garage.records.importing.cells import cell_reader
from garage.records.importing.columns import CLUSTERS, JOBS, VEHICLES
from garage.records.importing.formulas import (
    FORMULA_SIGNS,
    apostrophe_set,
    apostrophe_taken_off,
    cell_written,
)

AS_OF = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+44 20", "'+44 20"),
        ("-", "'-"),
        ("@all", "'@all"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("＝1", "'＝1"),
        ("'=1", "''=1"),
        ("''=1", "'''=1"),
        ("'tis", "'tis"),
        ("'", "'"),
        ("a=1", "a=1"),
        ("", ""),
    ],
)
def test_text_is_written_and_read_back(text: str, cell: str) -> None:
    assert apostrophe_set(text) == cell
    assert apostrophe_taken_off(cell) == text


@given(st.text(alphabet="'=+-@\t\rx ", max_size=6) | st.text())
@example("''")
def test_no_text_is_lost_and_none_is_computed(text: str) -> None:
    cell = apostrophe_set(text)
    assert not cell.startswith(FORMULA_SIGNS)
    assert apostrophe_taken_off(cell) == text


def test_numbers_and_codes_are_no_text() -> None:
    assert cell_written(CLUSTERS.by_name["offset"], "-1200") == "-1200"
    assert cell_written(JOBS.by_name["note"], "-1200") == "'-1200"


@pytest.mark.parametrize(
    ("kind", "column", "cell", "value"),
    [
        (JOBS, "note", "'=1+1", "=1+1"),
        (JOBS, "note", "''=1+1", "'=1+1"),
        (JOBS, "note", "'tis", "'tis"),
        (JOBS, "job_ref", "'-7", "-7"),
        (JOBS, "position", "'+X", "+x"),
        (JOBS, "trouble_codes", "'-p2002", "-P2002"),
        (VEHICLES, "registration", "'-QX 1", "-QX 1"),
    ],
)
def test_import_takes_the_apostrophe_off(kind, column: str, cell: str, value: str) -> None:
    assert cell_reader(kind.by_name[column], as_of=AS_OF)(cell) == value


def test_apostrophe_does_not_count_as_a_character() -> None:
    longest = "=" * 60
    assert cell_reader(JOBS.by_name["job_ref"], as_of=AS_OF)("'" + longest) == longest

"""What a cell of each form holds, and what it refuses."""

import contextlib
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.errors import RuleBroken
from garage.records.importing.cells import cell_reader, cell_text, distance_fault, mark_key
from garage.records.importing.columns import CLUSTERS, FILE_KINDS, JOBS, ODOMETER, VEHICLES
from garage.records.importing.faults import shown

AS_OF = date(2026, 11, 25)


def read(kind, name: str, text: str):
    return cell_reader(kind.by_name[name], as_of=AS_OF)(text)


@pytest.mark.parametrize(
    ("kind", "column", "text", "value"),
    [
        (JOBS, "opened_on", "2024-02-29", date(2024, 2, 29)),
        (JOBS, "opened_on", "2026-11-26", date(2026, 11, 26)),  # a day ahead, elsewhere today
        (JOBS, "opened_on", "1900-01-01", date(1900, 1, 1)),
        (JOBS, "planned", "yes", True),
        (JOBS, "planned", "no", False),
        (JOBS, "operation", "replace", "replace"),
        (JOBS, "odometer", "0", Decimal(0)),
        (JOBS, "odometer", "123456.5", Decimal("123456.5")),
        (CLUSTERS, "offset", "-1200", Decimal(-1200)),
        (JOBS, "labour_cost", "93.55", Decimal("93.55")),
        (JOBS, "currency", "EUR", "EUR"),
        (JOBS, "repaired_elsewhere", "none", []),
        (JOBS, "repaired_elsewhere", "fuel air  fuel", ["air", "fuel"]),
        (JOBS, "trouble_codes", "p2002  P2463", "P2002 P2463"),
        (JOBS, "position", "Bank  1", "bank 1"),
        (JOBS, "note", "two\nlines\tand a tab", "two\nlines\tand a tab"),
        (JOBS, "note", "=1+1", "=1+1"),  # a formula is text here
        (VEHICLES, "vin", "0ab test0000000001", "0ABTEST0000000001"),
        (VEHICLES, "registration", "QX  12-AB", "QX 12-AB"),
    ],
)
def test_cell_is_read(kind, column: str, text: str, value: object) -> None:
    assert read(kind, column, text) == value


@pytest.mark.parametrize(
    ("kind", "column", "text", "rule"),
    [
        (JOBS, "opened_on", "20240229", "YYYY-MM-DD"),
        (JOBS, "opened_on", "29.02.2024", "YYYY-MM-DD"),
        (JOBS, "opened_on", "2024-W09-4", "YYYY-MM-DD"),
        (JOBS, "opened_on", "2024-02-29T08:00", "YYYY-MM-DD"),
        (JOBS, "opened_on", "2023-02-29", "in the calendar"),
        (JOBS, "opened_on", "٢٠٢٤-٠٢-٢٩", "YYYY-MM-DD"),
        (JOBS, "opened_on", "2026-11-27", "future"),
        (JOBS, "opened_on", "1899-12-31", "older than"),
        (JOBS, "planned", "Yes", "yes or no"),
        (JOBS, "planned", "1", "yes or no"),
        (JOBS, "operation", "Replace", "operation must be one of inspect, clear_codes"),
        (JOBS, "removed_because", "replaced_elsewhere", "must be one of failed, sound"),
        (JOBS, "odometer", "-1", "plain digits"),
        (JOBS, "odometer", "123,456", "plain digits"),
        (JOBS, "odometer", "123 456", "plain digits"),
        (JOBS, "odometer", "1e5", "plain digits"),
        (JOBS, "odometer", "NaN", "plain digits"),
        (JOBS, "odometer", "Infinity", "plain digits"),
        (JOBS, "odometer", "１２３", "plain digits"),
        (JOBS, "odometer", "1.234", "two decimals"),
        (JOBS, "odometer", "12345 km", "plain digits"),
        (CLUSTERS, "offset", "--5", "plain digits"),
        (JOBS, "labour_cost", "-0.01", "not negative"),
        (JOBS, "labour_cost", "1.999", "two decimals"),
        (JOBS, "currency", "eur", "three capital letters"),
        (JOBS, "currency", "€", "three capital letters"),
        (JOBS, "repaired_elsewhere", "none fuel", "none alone"),
        (JOBS, "repaired_elsewhere", "gearbox", "system codes"),
        (JOBS, "note", "a\x00b", "control characters"),
        (JOBS, "note", "x" * 501, "at most 500 characters"),
        (JOBS, "job_ref", "x" * 61, "at most 60 characters"),
        (VEHICLES, "vin", "0ABTEST000000001", "17 characters"),
        (VEHICLES, "vin", "0ABTEST00I0000001", "without I, O and Q"),
        (VEHICLES, "registration", "---", "1 to 20 letters and digits"),
        (VEHICLES, "registration", "ß" * 11, "1 to 20 letters and digits"),  # SS in capitals
        (ODOMETER, "unit", "KM", "must be one of km, mi"),
    ],
)
def test_cell_is_refused_with_its_rule(kind, column: str, text: str, rule: str) -> None:
    with pytest.raises(RuleBroken) as refusal:
        read(kind, column, text)
    assert rule in refusal.value.rule
    assert refusal.value.do


def test_distance_beyond_any_vehicle_is_a_fault_in_either_unit() -> None:
    assert distance_fault("odometer", Decimal(10_000_000), "km") is None
    assert distance_fault("odometer", Decimal(10_000_001), "km") is not None
    assert distance_fault("odometer", Decimal(6_213_711), "mi") is None
    assert distance_fault("odometer", Decimal(6_213_713), "mi") is not None


def test_mark_key_keeps_letters_and_digits_of_any_script() -> None:
    assert mark_key("qx-12 äb") == "QX12ÄB"


def test_text_is_composed() -> None:
    assert cell_text(" e\u0301 ") == "é"


def test_long_text_is_shown_short_and_on_one_line() -> None:
    assert shown("a\nb\x00") == "a�b�"
    assert shown("x" * 90).endswith("(90 characters)")


@given(st.sampled_from([(k, c) for k in FILE_KINDS for c in k.columns]), st.text(min_size=1))
def test_any_text_is_read_or_refused(place, text: str) -> None:
    _, column = place
    text = cell_text(text)
    if text:
        with contextlib.suppress(RuleBroken):
            cell_reader(column, as_of=AS_OF)(text)

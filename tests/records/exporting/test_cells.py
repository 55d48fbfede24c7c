"""Values as cells, and back through the import's own readers."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from garage.records.distance import to_km
from garage.records.exporting.cells import (
    day_cell,
    number_cell,
    systems_cell,
    text_cell,
    typed_from_km,
    yes_no_cell,
)
from garage.records.importing.cells import cell_reader
from garage.records.importing.columns import CLUSTERS, JOBS

AS_OF = date(2026, 11, 25)


def read(kind, name: str, text: str):
    return cell_reader(kind.by_name[name], as_of=AS_OF)(text)


@pytest.mark.parametrize(
    ("number", "cell"),
    [
        (Decimal("123456.00"), "123456"),
        (Decimal(120_000), "120000"),
        (Decimal("0.50"), "0.5"),
        (Decimal("0.00"), "0"),
        (Decimal("-1200.25"), "-1200.25"),
        (None, ""),
    ],
)
def test_number_is_the_same_from_every_database(number: Decimal | None, cell: str) -> None:
    assert number_cell(number) == cell


@given(st.decimals(-(10**9), 10**9, places=2))
def test_number_comes_back(number: Decimal) -> None:
    assert read(CLUSTERS, "offset", number_cell(number)) == number


@given(st.integers(0, 10_000_000), st.sampled_from(["km", "mi"]))
@example(1, "mi")
def test_whole_km_come_back_from_either_unit(km: int, unit: str) -> None:
    typed = typed_from_km(km, unit)
    assert to_km(typed, unit) == km
    assert read(JOBS, "last_sound_odometer", number_cell(typed)) == typed
    if km:
        assert to_km(typed - (Decimal("0.01") if unit == "mi" else 1), unit) < km


@given(st.lists(st.sampled_from(["air", "fuel", "engine"]), unique=True))
def test_systems_come_back(codes: list[str]) -> None:
    assert read(JOBS, "repaired_elsewhere", systems_cell(codes)) == sorted(codes)


def test_what_is_not_known_is_an_empty_cell() -> None:
    told = (text_cell(None), day_cell(None), yes_no_cell(None), systems_cell(None))
    assert told == ("", "", "", "")
    assert systems_cell([]) == "none"


def test_text_is_in_one_spelling() -> None:
    assert text_cell(" o\u0308l\n") == "\u00f6l"
    assert text_cell("\x0btwo\x0blines\nand a\ttab\x00") == "two lines\nand a\ttab"

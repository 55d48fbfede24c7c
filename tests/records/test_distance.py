"""Typed distances into whole kilometres."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.distance import to_km
from garage.records.errors import RuleBroken

distances = st.decimals(min_value=0, max_value=9_999_999, places=2)


def test_kilometres_are_kept() -> None:
    assert to_km(Decimal(141_250), "km") == 141_250
    assert to_km(Decimal(0), "km") == 0


# One mile is 1.609 344 km exactly (NIST SP 811, 2008, appendix B.8); products by hand.
@pytest.mark.parametrize(
    ("miles", "km"),
    [("0", 0), ("1", 2), ("100000", 160_934), ("62137.12", 100_000), ("1000000", 1_609_344)],
)
def test_miles_are_turned_into_kilometres(miles: str, km: int) -> None:
    assert to_km(Decimal(miles), "mi") == km


@pytest.mark.parametrize(("typed", "km"), [("10.5", 10), ("11.5", 12), ("-10.5", -10)])
def test_half_kilometres_go_to_the_even_one(typed: str, km: int) -> None:
    assert to_km(Decimal(typed), "km") == km


def test_an_offset_may_be_negative() -> None:
    assert to_km(Decimal(-100_000), "mi") == -160_934


@pytest.mark.parametrize("unit", ["", "KM", "miles", "m"])
def test_an_unknown_unit_is_refused_by_name(unit: str) -> None:
    with pytest.raises(RuleBroken, match="km or mi") as refusal:
        to_km(Decimal(1), unit)
    assert (refusal.value.got, refusal.value.column) == (unit, "unit")


@pytest.mark.parametrize("typed", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_is_refused(typed: str) -> None:
    with pytest.raises(RuleBroken, match="a number") as refusal:
        to_km(Decimal(typed), "km")
    assert refusal.value.got == typed


@given(distances)
def test_miles_lie_within_half_a_kilometre_of_the_exact_value(typed: Decimal) -> None:
    exact = Fraction(typed) * Fraction(1_609_344, 1_000_000)
    assert abs(to_km(typed, "mi") - exact) <= Fraction(1, 2)


@given(distances, distances, st.sampled_from(["km", "mi"]))
def test_order_is_kept(first: Decimal, second: Decimal, unit: str) -> None:
    low, high = sorted((first, second))
    assert to_km(low, unit) <= to_km(high, unit)

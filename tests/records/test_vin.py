"""VIN-01 and the rules of ISO 3779: what is taken, what is refused, and where position 9 counts."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.errors import RuleBroken
from garage.records.vin import VALUES, WEIGHTS, check_character, vin_check

#: The worked sample of 49 CFR 565.15, table VI, with its printed check digit 4 in position 9.
SAMPLE = "1G4AH59H45G118341"
#: Its printed products of assigned value and weight, position by position; they add up to 411.
SAMPLE_PRODUCTS = [8, 49, 24, 5, 32, 15, 18, 80, 0, 45, 56, 7, 6, 40, 12, 12, 2]
#: An invented number; no region begins with 0 (ISO 3780).
INVENTED = "0ABTEST0000000017"

vin_characters = st.sampled_from("ABCDEFGHJKLMNPRSTUVWXYZ0123456789")


def with_character(vin: str, position: int, character: str) -> str:
    return vin[: position - 1] + character + vin[position:]


def test_published_sample_has_the_printed_products_and_check_digit() -> None:
    products = [VALUES[c] * weight for c, weight in zip(SAMPLE, WEIGHTS, strict=True)]
    assert products == SAMPLE_PRODUCTS
    assert sum(products) == 411
    assert 411 % 11 == 4
    assert check_character(SAMPLE) == "4"
    assert vin_check(SAMPLE) == SAMPLE


def test_published_sample_agrees_with_the_check_case(shared: Path) -> None:
    cases = json.loads((shared / "checks" / "checks.json").read_text(encoding="utf-8"))["cases"]
    (case,) = [case for case in cases if case["id"] == "VIN-01"]
    expected = {each["name"]: each["value"] for each in case["expected"]}
    assert case["data"]["vin"] == SAMPLE
    assert expected["products by position"] == SAMPLE_PRODUCTS
    assert str(expected["check character"]) == check_character(case["data"]["vin"])


def test_remainder_of_ten_is_written_x() -> None:
    # 49 CFR 565.15, from memory: a remainder of 10 is written X. Counted by hand: 1 in position
    # 1 (weight 8) and 1 in position 17 (weight 2), 8 + 2 = 10.
    vin = "10000000X00000001"
    assert check_character(vin) == "X"
    assert vin_check(vin) == vin
    with pytest.raises(RuleBroken, match="check digit X"):
        vin_check(with_character(vin, 9, "0"))


@pytest.mark.parametrize("position", [p for p in range(1, 18) if p != 9])
def test_one_misread_digit_is_caught_at_every_position(position: int) -> None:
    # Every weight but the ninth is prime to 11, so a digit read one higher always shows. 1 to 2
    # at the front stays within North America.
    value = VALUES[SAMPLE[position - 1]]
    misread = with_character(SAMPLE, position, str((value + 1) % 10))
    with pytest.raises(RuleBroken, match="position 9") as refusal:
        vin_check(misread)
    assert refusal.value.column == "vin"


@pytest.mark.parametrize("first", "12345")
def test_check_digit_holds_in_north_america(first: str) -> None:
    vin = with_character(SAMPLE, 1, first)
    right = with_character(vin, 9, check_character(vin))
    wrong = with_character(vin, 9, "A")
    assert vin_check(right) == right
    with pytest.raises(RuleBroken, match="49 CFR 565"):
        vin_check(wrong)


@pytest.mark.parametrize("first", "0679AHJRSVWZ")
def test_mismatch_is_no_error_outside_north_america(first: str) -> None:
    vin = with_character(with_character(SAMPLE, 1, first), 9, "Z")
    assert vin_check(vin) == vin


def test_blanks_and_small_letters_are_tidied() -> None:
    assert vin_check(" 0abtest00 0000\t0017 ") == INVENTED


@pytest.mark.parametrize("refused", "IOQioq")
def test_letters_easily_misread_are_refused(refused: str) -> None:
    assert vin_check(INVENTED) == INVENTED
    with pytest.raises(RuleBroken, match="without I, O and Q") as refusal:
        vin_check(with_character(INVENTED, 5, refused))
    assert refusal.value.column == "vin"


@pytest.mark.parametrize("refused", ["-", ".", "Ä", "٣", "７", "*"])
def test_other_signs_are_refused(refused: str) -> None:
    with pytest.raises(RuleBroken, match="digits and capital letters"):
        vin_check(with_character(INVENTED, 5, refused))


@pytest.mark.parametrize("text", ["", "   ", INVENTED[:-1], INVENTED + "1"])
def test_any_length_but_seventeen_is_refused_with_its_length(text: str) -> None:
    with pytest.raises(RuleBroken, match="17 characters") as refusal:
        vin_check(text)
    assert f"({len(''.join(text.split()))} characters)" in refusal.value.got
    assert refusal.value.do


@given(st.lists(vin_characters, min_size=17, max_size=17).map("".join))
def test_a_number_completed_with_its_check_digit_is_taken_unchanged(vin: str) -> None:
    completed = with_character(vin, 9, check_character(vin))
    assert vin_check(completed) == completed

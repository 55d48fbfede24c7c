"""Every value and day that one fault mends, each against the fault done forwards."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.choices import Doubt
from garage.records.odometers.faults import (
    FAULT_SHARE,
    date_mends,
    mends_merge,
    value_mends,
)

whole_km = st.integers(100, 999_999)


def mended(typed: int, doubt: Doubt, unit: str = "km") -> set[int]:
    return {each.typed for each in value_mends(typed, unit, 0) if each.doubt == doubt}


@given(whole_km, st.data())
def test_a_slipped_digit_is_mended_back(true: int, data: st.DataObject) -> None:
    text = str(true)
    at = data.draw(st.integers(0, len(text) - 1))
    digit = data.draw(st.sampled_from("0123456789"))
    both = text[:at] + text[at : at + 2][::-1] + text[at + 2 :]
    for slipped in (
        text[:at] + text[at + 1 :],
        text[:at] + digit + text[at:],
        text[:at] + digit + text[at + 1 :],
        both,
    ):
        # A nought in front is not seen, and another slip then.
        if slipped[0] == "0" or int(slipped) == true:
            continue
        found = mended(int(slipped), Doubt.WRONG_DIGIT) | mended(int(slipped), Doubt.TENTHS)
        assert true in found


@given(whole_km, st.integers(0, 9))
def test_tenths_read_as_km_and_tenths_left_out_are_mended_back(true: int, tenth: int) -> None:
    assert true in mended(true * 10 + tenth, Doubt.TENTHS)
    assert true // 10 * 10 in mended(true // 10, Doubt.TENTHS)


def test_the_other_unit_is_exact() -> None:
    # 86 200 miles are 138 725.5 km, and 86 200 km are 53 562.2 miles: 1.609 344 km to the mile.
    units = [each for each in value_mends(86_200, "km", 0) if each.doubt == Doubt.WRONG_UNIT]
    assert [(each.typed, each.unit) for each in units] == [(86_200, "mi"), (53_562, "km")]
    assert [each.km for each in units] == pytest.approx([138_725.5, 53_562.2], abs=0.1)
    units = [each for each in value_mends(86_200, "mi", 0) if each.doubt == Doubt.WRONG_UNIT]
    assert [(each.typed, each.unit) for each in units] == [(86_200, "km"), (138_725, "mi")]
    assert units[0].km == pytest.approx(86_200)


def test_the_digits_are_those_of_the_instrument_not_of_the_true_distance() -> None:
    """The mended value is the instrument's; its offset is added after."""
    plain = {each.typed: each.km for each in value_mends(5_123, "mi", 0)}
    offset = {each.typed: each.km for each in value_mends(5_123, "mi", 70_000)}
    assert plain.keys() == offset.keys()
    assert offset[6_123] == pytest.approx(6_123 * 1.609344 + 70_000)


@pytest.mark.parametrize("typed", [7, 54_321, 600_000, 1_234_567])
def test_merged_mends_keep_their_share_and_the_other_unit_apart(typed: int) -> None:
    mends = value_mends(typed, "km", 0)
    merged = mends_merge(mends)
    assert merged[0] == mends[0]
    assert len(merged) < len(mends)
    assert sum(each.share for each in merged) == pytest.approx(sum(each.share for each in mends))


def test_a_wrong_day_is_mended_back() -> None:
    found = {each.read_on: each.share for each in date_mends(date(2021, 3, 4))}
    assert set(found) == {
        date(2021, 4, 3),
        date(2020, 3, 4),
        date(2022, 3, 4),
        date(2011, 3, 4),
        date(2031, 3, 4),
        date(2021, 2, 4),
        date(2021, 4, 4),
    }
    assert sum(found.values()) <= FAULT_SHARE["date"] * 1.0001
    # A day above 12 is no month, and the 29th of February is in no other year.
    assert date(2021, 2, 28) in {each.read_on for each in date_mends(date(2020, 2, 29))}
    assert len(date_mends(date(2021, 3, 24))) == 6

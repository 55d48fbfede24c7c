"""On-board values: worked values, fillers, ends of counters, the sign, and the way back."""

import math
from collections.abc import Callable
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.codes.onboard.decode import DEFAULTS, Decoded, decode, decode_data
from garage.evidence.codes.onboard.table import NumberRow, answer_rows, answer_rows_from
from garage.evidence.quantities.catalogue import quantity
from garage.evidence.quantities.units import converted, unit_of
from garage.evidence.thresholds import Override

NUMBERS = [(pid, row) for pid, each in answer_rows().items() for row in each.numbers]
FED = [(pid, row) for pid, row in NUMBERS if row.quantity]
TWO_BYTES = range(0x10000)


def of(answer: str, item: str) -> Decoded:
    """The number whose item begins so."""
    return next(each for each in decode(answer) if each.item.startswith(item))


def test_engine_speed_equals_the_commonly_printed_value() -> None:
    # 1A F8 is 1726 rpm: ISO 15031-5, from memory.
    assert decode("41 0C 1A F8")[0].value == 1726.0


# From memory of SAE J1979-DA, and worked by hand from its scales.
@pytest.mark.parametrize(
    ("answer", "item", "value"),
    [
        ("41 04 FF", "engine load", 100.0),
        ("41 05 7B", "coolant", 83.0),
        ("41 10 0A 6B", "air flow", 26.67),
        ("41 1F 01 2C", "time since the engine", 300.0),
        ("41 21 00 0A", "distance with", 10.0),
        ("41 33 65", "pressure of the outside", 101.0),
        ("41 4D 00 3C", "engine time with", 60.0),
        ("41 4E 00 3C", "engine time since", 60.0),
        ("41 5C 82", "oil", 90.0),
        ("41 78 0F 0FA0 1194 1388 0001", "exhaust temperature, bank 1, sensor 2", 410.0),
        ("41 79 0F 0FA0 1194 1388 0001", "exhaust temperature, bank 2, sensor 4", -39.9),
        ("41 7B 07 0064 2828 2774", "pressure before the filter, bank 2", 102.8),
        ("41 7C 0F 0FA0 1194 1388 157C", "exhaust temperature before the filter, bank 1", 360.0),
        ("41 7C 0F 0FA0 1194 1388 157C", "exhaust temperature after the filter, bank 2", 510.0),
        ("41 7F 07 00DBBA00 0036EE80 00000E10", "hours run by the engine", 4000.0),
        ("41 7F 07 00DBBA00 0036EE80 00000E10", "hours run at idle", 1000.0),
        ("41 83 01 00FA 0000", "nitrogen oxides, first", 250.0),
        ("41 8B 7F 03 80 00F0 0190", "how near", 12800 / 255),
        ("41 8B 7F 03 80 00F0 0190", "mean engine time", 240.0),
        ("41 8B 7F 03 80 00F0 0190", "mean distance", 400.0),
        ("41 9E 01 F4", "exhaust flow", 100.0),
        ("41 A6 00 16 E3 60", "odometer", 150_000.0),
    ],
)
def test_value_is_that_worked_by_hand(answer: str, item: str, value: float) -> None:
    assert of(answer, item).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    "answer",
    [
        "410CFFFF",
        "410C8000",
        "410500",
        "4105FF",
        "4133FF",
        "4121FFFF",
        "417A01800000000000",
        "417C010000000000000000",
        "417F01FFFFFFFF0000000000000000",
        "41831100FA0000",
        "418F02000000000000",
        "41A6FFFFFFFF",
    ],
)
def test_what_stands_for_no_value_is_not_known(answer: str) -> None:
    found = [each for each in decode(answer) if "not supported" not in each.reason]
    assert len(found) == 1
    assert found[0].value is None
    assert found[0].reason


@pytest.mark.parametrize("pid", ["1F", "31", "4D", "4E"])
def test_counter_at_its_end_is_at_least(pid: str) -> None:
    at_end, below = decode(f"41{pid}FFFF")[0], decode(f"41{pid}FFFE")[0]
    assert (at_end.at_least, at_end.value) == (True, 65_535.0)
    assert (below.at_least, below.value) == (False, 65_534.0)


def test_warm_ups_at_their_end_are_at_least() -> None:
    assert (decode("4130FF")[0].at_least, decode("4130FE")[0].at_least) == (True, False)


def test_difference_has_a_sign_and_what_is_not_supported_is_none() -> None:
    across, before, after = decode("41 7A 01 FF 9C 00 64 00 64")
    assert (across.value, before.value, after.value) == (-1.0, None, None)
    assert "not supported" in before.reason


@pytest.mark.parametrize(("pid", "row"), [(p, r) for p, r in NUMBERS if r.support is not None])
def test_only_the_support_bit_of_a_number_makes_it_known(pid: str, row: NumberRow) -> None:
    length = max(answer_rows()[pid].lengths)
    rest = bytes([1]) * (length - 1)

    def value(support: int) -> tuple[float | None, str]:
        numbers = decode_data(pid, bytes([support]) + rest).numbers
        found = next(each for each in numbers if each.item == row.item)
        return found.value, found.reason

    bit = 1 << (row.support or 0)
    assert "not supported" not in value(bit)[1]
    assert value(0x0F & ~bit) == (None, "not supported by this vehicle")


def test_every_difference_is_its_raw_with_a_sign_or_told_why_not() -> None:
    for raw in TWO_BYTES:
        found = decode_data("7A", b"\1" + raw.to_bytes(2, "big") + bytes(4)).numbers[0]
        counts = raw - 0x10000 if raw >= 0x8000 else raw
        if abs(counts) > 10_000 or raw == 0xFFFF:
            assert found.value is None
            assert found.reason
        else:
            assert found.value == counts / 100


def test_difference_coded_with_an_offset_is_never_taken_for_a_pressure() -> None:
    # Coded so, 0.01 kPa from -327.68 kPa (as a general packet library describes it).
    for hundredths_kpa in range(-10_000, 10_001, 100):
        found = decode(f"417A01{hundredths_kpa + 32_768:04X}00000000")[0]
        assert found.value is None
        assert "offset" in found.reason


def test_limit_of_a_difference_can_be_an_own_one() -> None:
    own = DEFAULTS.overridden([Override("difference_most_kpa", 20.0, "own vehicles")])
    assert decode("417A0107D000000000", own)[0].value == 20.0
    assert decode("417A0107D100000000", own)[0].value is None
    assert decode("417A0107D100000000")[0].value == 20.01


def test_limit_of_a_difference_is_where_the_catalogue_ends() -> None:
    known = quantity("pressure_across_filter")
    kpa = unit_of("kPa", known.dimension)
    assert kpa is not None
    assert converted(Decimal(DEFAULTS["difference_most_kpa"]), kpa, known.unit) == known.most


@pytest.mark.parametrize(
    "answer",
    ["", "41 31 01", "41 31 01 2", "01 31 01 2C", "41 EE 01", "NO DATA", "41 83 01 00FA 0000 00"],
)
def test_what_is_no_whole_answer_is_refused(answer: str) -> None:
    with pytest.raises(ValueError, match="got"):
        decode(answer)


@pytest.mark.parametrize(("pid", "row"), FED)
def test_number_feeds_a_quantity_of_the_catalogue_that_takes_it(pid: str, row: NumberRow) -> None:
    known = quantity(row.quantity)
    unit = unit_of(row.unit, known.dimension)
    assert unit is not None, pid
    assert row.kind in known.kinds
    assert row.holds == (known.holds_at is not None)
    if row.holds:
        assert converted(Decimal(row.largest_raw), unit, known.unit) == known.holds_at


@pytest.mark.parametrize(("pid", "row"), FED)
def test_largest_raw_is_no_plain_value_where_the_catalogue_has_it_as_a_filler(
    pid: str, row: NumberRow
) -> None:
    fillers = {
        converted(each.value, each.unit, quantity(row.quantity).unit)
        for each in quantity(row.quantity).fillers
        if each.unit is not None
    }
    for raw, lead in product((0, row.largest_raw), (0x0F, 0x7F)):
        part = raw.to_bytes(row.size, "big")
        data = part if row.at == 0 else bytes([lead]).ljust(row.at, b"\0") + part
        found = decode_data(pid, data.ljust(max(answer_rows()[pid].lengths), b"\0")).numbers
        value = next(each.value for each in found if each.item == row.item)
        unit = unit_of(row.unit, quantity(row.quantity).dimension)
        assert unit is not None
        if value is not None:
            assert converted(Decimal(value), unit, quantity(row.quantity).unit) not in fillers


# Value to bytes, written apart from the table; what is not a whole count is left out.
ENCODED: list[tuple[str, st.SearchStrategy[int], Callable[[int], tuple[float, bytes]]]] = [
    ("0C", st.integers(0, 32_767), lambda n: (n * 0.25, n.to_bytes(2, "big"))),
    ("05", st.integers(-39, 214), lambda n: (n, bytes([n + 40]))),
    ("5C", st.integers(-39, 214), lambda n: (n, bytes([n + 40]))),
    ("10", st.integers(0, 32_767), lambda n: (n * 0.01, n.to_bytes(2, "big"))),
    ("04", st.integers(0, 255), lambda n: (n / 2.55, bytes([n]))),
    ("33", st.integers(0, 254), lambda n: (n, bytes([n]))),
    ("31", st.integers(0, 65_535), lambda n: (n, n.to_bytes(2, "big"))),
    ("9E", st.integers(0, 32_767), lambda n: (n * 0.2, n.to_bytes(2, "big"))),
    ("A6", st.integers(0, 2**32 - 2), lambda n: (n * 0.1, n.to_bytes(4, "big"))),
    (
        "7A",
        st.integers(-10_000, 10_000).filter(lambda n: n != -1),
        lambda n: (n * 0.01, b"\1" + n.to_bytes(2, "big", signed=True) + bytes(4)),
    ),
    (
        "7C",
        st.integers(-399, 32_767 - 400),
        lambda n: (n * 0.1, b"\1" + (n + 400).to_bytes(2, "big") + bytes(6)),
    ),
    (
        "7F",
        st.integers(0, 2**32 - 2),
        lambda n: (n / 3600, b"\1" + n.to_bytes(4, "big") + bytes(8)),
    ),
]


@given(st.data())
def test_value_written_into_bytes_comes_back(data: st.DataObject) -> None:
    pid, counts, encoded = data.draw(st.sampled_from(ENCODED))
    value, raw = encoded(data.draw(counts))
    assert decode(f"41{pid}{raw.hex()}")[0].value == pytest.approx(value, abs=1e-9, rel=1e-12)


@given(st.data())
def test_any_bytes_give_a_finite_value_or_a_reason(data: st.DataObject) -> None:
    pid = data.draw(st.sampled_from(list(answer_rows())))
    length = data.draw(st.sampled_from(answer_rows()[pid].lengths))
    answer = decode_data(pid, data.draw(st.binary(min_size=length, max_size=length)))
    for number in answer.numbers:
        assert (number.value is None) == bool(number.reason)
        assert number.value is None or math.isfinite(number.value)
    for state in answer.states:
        assert bool(state.words) != bool(state.reason)


@pytest.mark.parametrize(
    ("support_and_state", "said"),
    [
        ((0x01, 0x00), ["none under way", "", "", ""]),
        ((0x03, 0x03), ["under way", "active", "", ""]),
        ((0x0F, 0x04), ["none under way", "passive", "under way", "none under way"]),
    ],
)
def test_state_of_a_burn_is_said_only_where_supported(
    support_and_state: tuple[int, int], said: list[str]
) -> None:
    data = bytes(support_and_state) + bytes(5)
    assert [each.words for each in decode_data("8B", data).states] == said


def test_rules_of_the_diagnosis_that_are_not_known_are_said_so() -> None:
    known, unknown = (decode_data("1C", bytes([raw])).states[0] for raw in (6, 14))
    assert (known.words, unknown.words) == ("Europe", "")
    assert "0E" in unknown.reason


ROW = '[31]\nlengths = [2]\nnumbers = [{ item = "x", quantity = "", unit = "km" }]'


@pytest.mark.parametrize(
    ("was", "becomes"),
    [("lengths = [2]", "lengths = [1]"), ("unit =", "units ="), ("numbers", "fields")],
)
def test_row_that_does_not_hold_together_is_refused(was: str, becomes: str) -> None:
    assert answer_rows_from(ROW)["31"].lengths == (2,)
    with pytest.raises((ValueError, TypeError), match=r"31|lengths"):
        answer_rows_from(ROW.replace(was, becomes))

"""On-board values: worked values, fillers, ends of counters, support and the sign."""

import math

import pytest

from garage.evidence.codes.onboard.decode import decode


def test_engine_speed_equals_the_commonly_printed_value() -> None:
    # 1A F8 is 1726 rpm: ISO 15031-5, from memory.
    assert decode("41 0C 1A F8")[0].value == 1726.0


@pytest.mark.parametrize("answer", ["410CFFFF", "410C8000", "410500", "417A018000000000 00"])
def test_filler_and_sensor_not_connected_are_not_known(answer: str) -> None:
    assert decode(answer)[0].value is None
    assert decode(answer)[0].reason


def test_counter_at_its_end_is_at_least() -> None:
    assert (decode("4131FFFF")[0].at_least, decode("4131FFFE")[0].at_least) == (True, False)


def test_difference_has_a_sign_and_what_is_not_supported_is_none() -> None:
    across, before, after = decode("41 7A 01 FF 9C 00 64 00 64")
    assert (across.value, before.value, after.value) == (-1.0, None, None)
    assert "not supported" in before.reason


def test_every_difference_is_in_range_or_told_why_not() -> None:
    for raw in range(65536):
        found = decode(f"417A01{raw:04X}00000000")[0]
        if found.value is None:
            assert found.reason
        else:
            assert math.isfinite(found.value)
            assert abs(found.value) <= 100


@pytest.mark.parametrize(
    "answer", ["", "41 31 01", "41 31 01 2", "01 31 01 2C", "41 EE 01", "NO DATA"]
)
def test_what_is_no_whole_answer_is_refused(answer: str) -> None:
    with pytest.raises(ValueError, match="got"):
        decode(answer)


def test_difference_that_cannot_be_says_that_it_may_be_coded_with_an_offset() -> None:
    assert "offset" in decode("417A01806400000000")[0].reason
    assert decode("417A01006400000000")[0].value == 1.0

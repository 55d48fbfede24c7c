"""The status byte of ISO 14229-1, and what it leaves open."""

import pytest

from garage.evidence.codes.line import SaidState
from garage.evidence.codes.status import (
    Bit,
    FaultState,
    Region,
    permanent_words,
    read_status,
    state_of_service,
)


@pytest.mark.parametrize(
    ("status_byte", "state"),
    [
        (0x00, FaultState.PASSED),
        (0x40, FaultState.PASSED_EARLIER),
        (0x10, FaultState.UNKNOWN),
        (0x50, FaultState.UNKNOWN),
        (0x04, FaultState.PENDING),
        (0x03, FaultState.PRESENT_NOT_CONFIRMED),
        (0x0B, FaultState.PRESENT),
        (0x0A, FaultState.INTERMITTENT),
        (0x08, FaultState.HISTORY),
        (0x48, FaultState.CONFIRMED_NOT_RETESTED),
        (0x20, FaultState.FAILED_EARLIER),
        (0x11, FaultState.INCONSISTENT),
    ],
)
def test_state_by_the_byte(status_byte: int, state: FaultState) -> None:
    assert read_status(status_byte).state is state


def test_no_fault_found_since_a_clear_is_not_sound() -> None:
    # Fails when a test that never ran is taken for one that passed.
    assert not read_status(0x50).is_known_sound
    assert read_status(0x00).is_known_sound


def test_every_byte_has_one_state_and_its_bits() -> None:
    for status_byte in range(256):
        read = read_status(status_byte)
        assert read.reason
        assert sum(1 << each for each in read.bits) == status_byte


def test_bit_that_is_not_kept_says_nothing() -> None:
    kept = 0xFF & ~(1 << Bit.NOT_COMPLETED_SINCE_CLEAR)
    assert read_status(0x00, kept).state is FaultState.UNKNOWN


@pytest.mark.parametrize("value", [-1, 256])
def test_more_than_a_byte_is_refused(value: int) -> None:
    with pytest.raises(ValueError, match="one byte"):
        read_status(value)


def test_services_say_the_state_and_others_are_refused() -> None:
    # SAE J1979, from memory.
    assert [state_of_service(each) for each in (0x03, 0x07, 0x0A)] == [
        SaidState.CONFIRMED,
        SaidState.PENDING,
        SaidState.PERMANENT,
    ]
    with pytest.raises(ValueError, match="03, 07 or 0A"):
        state_of_service(0x01)


def test_no_permanent_code_in_europe_proves_nothing() -> None:
    assert "says nothing" in permanent_words(Region.EUROPE, 0)
    assert "not read" in permanent_words(Region.UNITED_STATES, None)
    assert "says nothing" not in permanent_words(Region.UNITED_STATES, 0)

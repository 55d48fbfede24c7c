"""Self-tests by bit."""

import pytest

from garage.evidence.codes.onboard.monitors import read_monitors


def test_monitor_that_is_not_kept_is_not_incomplete() -> None:
    read = read_monitors(bytes([0x82, 0x08, 0x41, 0x42]))
    assert (read.lamp_on, read.codes) == (True, 2)
    assert read.kept == ("hydrocarbon catalyst", "particulate filter")
    assert read.incomplete == ("particulate filter",)


def test_tests_that_always_run_stand_in_the_second_byte() -> None:
    read = read_monitors(bytes([0, 0x08 | 0x05 | 0x60, 0, 0]))
    assert read.kept == ("misfire", "components")
    assert read.incomplete == ("components",)


def test_this_drive_says_nothing_of_lamp_and_codes() -> None:
    data = bytes([0x00, 0x08, 0x40, 0x40])
    read = read_monitors(data, this_drive=True)
    assert (read.lamp_on, read.codes, read.filter_incomplete) == (None, None, True)
    assert (read_monitors(data).lamp_on, read_monitors(data).codes) == (False, 0)


@pytest.mark.parametrize(
    ("kept", "incomplete", "of_filter", "of_others"),
    [
        (0x41, 0x40, True, False),
        (0x41, 0x41, True, True),
        (0x41, 0x01, False, True),
        (0x01, 0x40, None, False),
    ],
)
def test_filter_is_told_apart_from_the_others(
    kept: int, incomplete: int, of_filter: bool | None, of_others: bool
) -> None:
    read = read_monitors(bytes([0, 0x08, kept, incomplete]))
    assert (read.filter_incomplete, read.others_incomplete) == (of_filter, of_others)


@pytest.mark.parametrize("data", [bytes([0, 0, 0, 0]), bytes([0, 8, 0])])
def test_spark_ignition_or_too_few_bytes_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="got"):
        read_monitors(data)

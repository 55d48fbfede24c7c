"""Self-tests by bit."""

import pytest

from garage.evidence.codes.onboard.monitors import read_monitors


def test_monitor_that_is_not_kept_is_not_incomplete() -> None:
    read = read_monitors(bytes([0x82, 0x08, 0x41, 0x42]))
    assert (read.lamp_on, read.codes) == (True, 2)
    assert read.kept == ("hydrocarbon catalyst", "particulate filter")
    assert read.incomplete == ("particulate filter",)


@pytest.mark.parametrize("data", [bytes([0, 0, 0, 0]), bytes([0, 8, 0])])
def test_spark_ignition_or_too_few_bytes_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="got"):
        read_monitors(data)

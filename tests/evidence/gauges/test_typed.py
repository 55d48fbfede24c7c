"""Numbers as they stand on a display."""

from decimal import Decimal

import pytest

from garage.evidence.gauges.typed import number_typed


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("5", "5", "1"),
        ("5.0", "5.0", "0.1"),
        ("5,00", "5.00", "0.01"),
        ("150", "150", "1"),
        (" -0.3 ", "-0.3", "0.1"),
        ("\N{MINUS SIGN}4", "-4", "1"),
        (".5", "0.5", "0.1"),
        ("0,125", "0.125", "0.001"),
        ("1500,125", "1500.125", "0.001"),
    ],
)
def test_number_keeps_its_last_digit(text: str, value: str, step: str) -> None:
    read = number_typed(text)
    assert (read.value, read.step) == (Decimal(value), Decimal(step))


@pytest.mark.parametrize("text", ["", "5 mbar", "1e3", "1,500", "1.5.2", "nan", "--", ".", "٣"])
def test_what_is_no_plain_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="got"):
        number_typed(text)

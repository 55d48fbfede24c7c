"""A byte as it is typed."""

import pytest

from garage.evidence.codes.typed_byte import byte_typed


@pytest.mark.parametrize(
    ("text", "byte"), [("00", 0), ("ff", 255), (" 2F ", 47), ("0x2f", 47), ("8", 8), ("50h", 80)]
)
def test_byte_is_read_in_hexadecimal(text: str, byte: int) -> None:
    assert byte_typed(text) == byte


@pytest.mark.parametrize("text", ["", "100", "0x100", "2G", "-1", "2 F", "٣"])
def test_byte_of_another_form_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="one or two hexadecimal"):
        byte_typed(text)

"""Trouble codes by ISO 15031-6: written, in bytes, and refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.codes.form import (
    Definer,
    TroubleCode,
    code_from_bytes,
    codes_from_bytes,
    parse_code,
)


@pytest.mark.parametrize(
    ("raw", "code"),
    # The first two: worked decodings of ISO 15031-6 (SAE J2012); the others from memory of it.
    [("0135", "P0135"), ("96A1", "B16A1"), ("244A", "P244A"), ("2002", "P2002"), ("C100", "U0100")],
)
def test_two_bytes_are_the_published_code_and_back(raw: str, code: str) -> None:
    # Fails when a bit of letter or figure is read from the wrong place.
    read = code_from_bytes(bytes.fromhex(raw))
    assert read is not None
    assert (read.code, read.raw.hex().upper()) == (code, raw)


@given(st.integers(1, 0xFFFF))
def test_every_two_bytes_come_back(value: int) -> None:
    read = code_from_bytes(value.to_bytes(2, "big"))
    assert read is not None
    assert int.from_bytes(read.raw, "big") == value
    if value != 0:
        assert parse_code(read.code) == read


def test_zeros_are_no_code_in_either_length() -> None:
    assert code_from_bytes(b"\0\0") is None
    assert code_from_bytes(b"\0\0\0") is None


def test_third_byte_is_the_failure_type_and_nought_is_one() -> None:
    assert code_from_bytes(bytes.fromhex("246392")) == TroubleCode("P2463", 0x92)
    assert code_from_bytes(bytes.fromhex("246300")) == TroubleCode("P2463", 0)
    assert TroubleCode("P2463", 0).printed == "P2463-00"
    assert TroubleCode("P2463").printed == "P2463"


@pytest.mark.parametrize("raw", [b"", b"\1", b"\1\2\3\4"])
def test_other_lengths_are_refused(raw: bytes) -> None:
    with pytest.raises(ValueError, match="two bytes"):
        code_from_bytes(raw)


def test_body_of_an_answer_drops_only_the_fillers() -> None:
    assert [each.code for each in codes_from_bytes(bytes.fromhex("013596A10000"))] == [
        "P0135",
        "B16A1",
    ]
    with pytest.raises(ValueError, match="pairs"):
        codes_from_bytes(b"\1\2\3")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("P2O63", "P2063"),
        ("HELLO", "the first is H"),
        ("X2463", "the first is X"),
        ("P4463", "the second is 4"),
        ("P246G", "hexadecimal"),
        ("P246", "4 characters"),
        ("P0000", "no code"),
        ("P2463-9", "failure type"),
        ("", "0 characters"),
    ],
)
def test_what_is_no_code_is_refused_with_what_is_wrong(text: str, hint: str) -> None:
    with pytest.raises(ValueError, match=hint):
        parse_code(text)


@pytest.mark.parametrize("text", ["p2463-92", " P2463:92 ", "P2463 - 92"])
def test_failure_type_is_read_in_any_usual_form(text: str) -> None:
    assert parse_code(text) == TroubleCode("P2463", 0x92)


@pytest.mark.parametrize(
    ("code", "definer"),
    # Groups of SAE J2012; the split of P3 from memory.
    [
        ("P0420", Definer.STANDARD),
        ("P1420", Definer.MAKER),
        ("P2463", Definer.STANDARD),
        ("P33FF", Definer.MAKER),
        ("P3400", Definer.STANDARD),
        ("B0001", Definer.STANDARD),
        ("C1001", Definer.MAKER),
        ("B2001", Definer.MAKER),
        ("C3001", Definer.RESERVED),
        ("U3001", Definer.SHARED),
    ],
)
def test_who_defines_a_code(code: str, definer: Definer) -> None:
    assert parse_code(code).definer is definer

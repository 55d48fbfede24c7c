"""SPN and FMI of heavy vehicles are kept as such."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.codes.heavy import HeavyCode, heavy_from_bytes, parse_heavy


@pytest.mark.parametrize("text", ["SPN 3251 FMI 0", "spn:3251, fmi:0", "3251/0"])
def test_spn_and_fmi_are_read_in_either_form(text: str) -> None:
    assert parse_heavy(text) == HeavyCode(3251, 0)


@given(st.integers(0, 524_287), st.integers(0, 31), st.integers(0, 126))
def test_four_bytes_hold_spn_fmi_and_count(spn: int, fmi: int, count: int) -> None:
    # Conversion method 4 of SAE J1939-73, from memory: the same bits put together by hand.
    raw = bytes([spn & 0xFF, spn >> 8 & 0xFF, spn >> 16 << 5 | fmi, count])
    expected = None if raw == b"\0\0\0\0" else HeavyCode(spn, fmi, count)
    assert heavy_from_bytes(raw) == expected


def test_count_that_is_not_available_is_none() -> None:
    assert heavy_from_bytes(bytes.fromhex("B30C007F")) == HeavyCode(3251, 0, None)


@pytest.mark.parametrize("raw", ["FFFFFFFF", "00000000"])
def test_fillers_are_no_code(raw: str) -> None:
    assert heavy_from_bytes(bytes.fromhex(raw)) is None


def test_older_conversion_is_refused_and_not_misread() -> None:
    with pytest.raises(ValueError, match="method 4"):
        heavy_from_bytes(bytes.fromhex("B30C0083"))


@pytest.mark.parametrize(("spn", "fmi", "count"), [(524_288, 0, 1), (1, 32, 1), (1, 0, 127)])
def test_each_number_has_its_range(spn: int, fmi: int, count: int) -> None:
    HeavyCode(524_287, 31, 126)
    with pytest.raises(ValueError, match=r"lies from 0 to"):
        HeavyCode(spn, fmi, count)

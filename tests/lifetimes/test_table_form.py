"""Tables kept as bytes: the same table comes back, and nothing else is taken for one."""

import json
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes import table_form
from garage.lifetimes.risk_table import LivesArrays, RiskRows, RiskTable
from garage.lifetimes.table_form import HEAD, MARK

row = st.tuples(
    st.integers(0, 2**33),
    st.integers(0, 400),
    st.integers(0, 3),
    st.sampled_from([0.0, 0.25, 1 / 3, 1.0]),
    st.sampled_from([0.3, 0.7, 1.0]),
)


def tables(rows: list[tuple[int, int, int, float, float]], captured: bool) -> RiskTable:
    clock, entered, failed, withdrawn, capture = (
        np.array([each[number] for each in rows]) for number in range(5)
    )
    seen = failed * (entered.sum() > 0)
    first = RiskRows(
        np.append(clock + 1, -1),
        np.append(entered, 10 * len(rows)),
        np.vstack([np.append(seen, 0), np.append(0 * seen, 0)]),
        np.append(withdrawn, 0.0),
        np.vstack([np.append(seen / capture, 0), np.append(0.0 * seen, 0)]) if captured else None,
    )
    return RiskTable.from_rows(first, unit="km · Straße", causes=("worn", "torn"))


@given(st.lists(row, min_size=1, max_size=30), st.booleans())
def test_table_kept_as_bytes_comes_back_the_same(
    rows: list[tuple[int, int, int, float, float]], captured: bool
) -> None:
    table = tables(rows, captured)
    back = RiskTable.from_bytes(table.to_bytes())
    assert back == table
    assert back.unit == table.unit
    np.testing.assert_array_equal(back.at_risk, table.at_risk)


def test_table_of_no_lives_comes_back() -> None:
    assert RiskTable.from_bytes(RiskTable.empty("days").to_bytes()) == RiskTable.empty("days")


def many_lives(n: int = 50_000) -> RiskTable:
    rng = np.random.default_rng(2)
    entry = rng.integers(0, 200_000, n) * rng.integers(0, 2, n)
    cause = (rng.random(n) < 0.3).astype(int)
    return RiskTable.from_lives(
        LivesArrays(entry, entry + rng.integers(1, 200_000, n), cause), unit="km"
    )


def test_bytes_are_a_small_part_of_the_plain_lists() -> None:
    table = many_lives()
    plain = json.dumps(table.to_dict(), separators=(",", ":")).encode()
    # Measured: about a fourteenth of the lists, under a half of the lists compressed.
    assert len(table.to_bytes()) < 0.1 * len(plain)
    assert len(table.to_bytes()) < 0.6 * len(zlib.compress(plain, 9))


def test_every_damaged_byte_is_noticed() -> None:
    kept = RiskTable.from_lives(LivesArrays([0, 0], [8, 16], [1, 0]), unit="km").to_bytes()
    RiskTable.from_bytes(kept)
    for place in range(len(kept)):
        damaged = bytearray(kept)
        damaged[place] ^= 0x20
        with pytest.raises(ValueError, match=r"begins with|has version|check sum"):
            RiskTable.from_bytes(bytes(damaged))
    for length in range(len(kept)):
        with pytest.raises(ValueError, match=r"begins with|check sum"):
            RiskTable.from_bytes(kept[:length])


def test_bytes_of_another_version_are_refused() -> None:
    kept = bytearray(RiskTable.empty("km").to_bytes())
    kept[len(MARK)] = 9
    with pytest.raises(ValueError, match="has version 1; got 9"):
        RiskTable.from_bytes(bytes(kept))


def sealed(plain: bytes) -> bytes:
    """Bytes with a right check sum, whatever they hold."""
    body = zlib.compress(plain)
    return HEAD.pack(MARK, 1, zlib.crc32(body)) + body


def told(columns: bytes, **changed: object) -> bytes:
    about = {"unit": "km", "causes": ["failed"], "rows": 1, "kinds": ["|u1"] * 4} | changed
    text = json.dumps(about).encode()
    return struct.pack("<I", len(text)) + text + columns


def test_bytes_whose_parts_do_not_fit_are_refused() -> None:
    # One row at clock 0 + 5 - 1: nothing enters, nothing fails, nothing leaves.
    assert RiskTable.from_bytes(sealed(told(bytes([5, 0, 0, 0])))) == RiskTable.empty("km")
    for plain, rule in (
        (b"", "cannot be read"),
        (b"\xff\xff\xff\xff", "cannot be read"),
        (told(bytes([5, 0, 0])), "by its own account"),
        (told(bytes([5, 0, 0, 0, 0])), "by its own account"),
        (told(bytes(4), rows=-1), "by its own account"),
        (told(bytes(4), kinds=["|O"] * 4), "is one of"),
        (told(bytes(3), kinds=["|u1"] * 3), "by its own account"),
        (told(bytes(4), rows=None), "cannot be read"),
        (told(bytes(4), rows=float("inf")), "cannot be read"),
        (told(bytes([5, 0, 1, 0])), "more lives fail or leave"),
    ):
        with pytest.raises(ValueError, match=rule):
            RiskTable.from_bytes(sealed(plain))


def test_bytes_made_to_fill_the_memory_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table_form, "LARGEST_FORM", 1_000)
    RiskTable.from_bytes(sealed(told(bytes(4))))
    with pytest.raises(ValueError, match="at most 1000 bytes"):
        RiskTable.from_bytes(sealed(bytes(1_000_000)))

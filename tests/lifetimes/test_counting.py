"""Sums by clock value: the dense way, the sorted way and a slow count agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.counting import (
    DENSE_VALUES_PER_ROW,
    LARGEST_COUNT,
    busy_rows,
    placed,
    summed_parts,
    summed_whole,
)
from garage.lifetimes.risk_table import LivesArrays, RiskRows, RiskTable

narrow = st.lists(st.tuples(st.integers(-1, 30), st.integers(0, 5)), min_size=1, max_size=40)
wide = st.lists(st.tuples(st.integers(-1, 10**9), st.integers(0, 5)), min_size=1, max_size=40)


@given(st.one_of(narrow, wide))
def test_sums_by_place_equal_a_slow_count(rows: list[tuple[int, int]]) -> None:
    clock, values = (np.array(each, np.int64) for each in zip(*rows, strict=True))
    ascending, place = placed(clock)
    assert ascending[place].tolist() == clock.tolist()
    assert np.all(np.diff(ascending) > 0)
    slow: dict[int, int] = {}
    for at, value in rows:
        slow[at] = slow.get(at, 0) + value
    whole = summed_whole(values, place, len(ascending))
    parts = summed_parts(values / 4, place, len(ascending), 1e-9)
    for at, total, part in zip(ascending.tolist(), whole.tolist(), parts.tolist(), strict=True):
        assert (total, part) == (slow.get(at, 0), slow.get(at, 0) / 4)


def test_short_clock_gets_a_place_for_every_value_and_a_long_one_does_not() -> None:
    count = 10
    short = np.arange(count) * (DENSE_VALUES_PER_ROW - 1)
    assert len(placed(short)[0]) == short.max() + 1
    assert len(placed(short * 10)[0]) == count


@pytest.mark.parametrize("span", [50, 10**7])
def test_table_of_many_lives_equals_one_built_by_sorting(span: int) -> None:
    # Second way: rows sorted by NumPy's unique and added one by one by ufunc.at.
    rng = np.random.default_rng(3)
    entry = rng.integers(-1, span, 4_000)
    exit_ = entry + rng.integers(1, span, 4_000)
    cause, weight = rng.integers(0, 3, 4_000), rng.integers(0, 4, 4_000)
    capture = rng.uniform(0.3, 1.0, 4_000)
    table = RiskTable.from_lives(
        LivesArrays(entry, exit_, cause, weight, capture), unit="km", causes=("a", "b")
    )
    clock, place = np.unique(np.concatenate([entry, exit_]), return_inverse=True)
    start, end = place[:4_000], place[4_000:]
    entered, withdrawn = np.zeros(len(clock), np.int64), np.zeros(len(clock))
    failed, corrected = np.zeros((2, len(clock)), np.int64), np.zeros((2, len(clock)))
    np.add.at(entered, start, weight)
    np.add.at(withdrawn, end[cause == 0], weight[cause == 0])
    for number in (0, 1):
        mine = cause == number + 1
        np.add.at(failed[number], end[mine], weight[mine])
        np.add.at(corrected[number], end[mine], weight[mine] / capture[mine])
    busy = busy_rows(entered, failed, withdrawn)
    assert table.clock.tolist() == clock[busy].tolist()
    for name, slow in (("entered", entered), ("withdrawn", withdrawn), ("failed", failed)):
        assert getattr(table, name).tolist() == slow[..., busy].tolist(), name
    np.testing.assert_array_equal(table.corrected, corrected[:, busy])


def test_weights_beyond_what_float64_counts_are_refused() -> None:
    half = LARGEST_COUNT // 2
    RiskTable.from_rows(RiskRows([0, 5], [half, 0], [0, 1], [0, 0]), unit="km")
    with pytest.raises(ValueError, match="fewer than 9007199254740992 lives"):
        RiskTable.from_rows(RiskRows([0, 1, 5], [half, half, 0], [0, 0, 1], [0, 0, 0]), unit="km")


def test_rows_handed_in_stay_writable_and_apart_from_the_table() -> None:
    clock, entered = np.array([0, 5]), np.array([2, 0])
    table = RiskTable.from_rows(RiskRows(clock, entered, [0, 2], np.zeros(2)), unit="km")
    clock[1], entered[0] = 7, 9
    assert (table.clock.tolist(), table.entered.tolist()) == ([0, 5], [2, 0])

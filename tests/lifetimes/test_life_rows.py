"""Lives counted without a second look give the table that the checked way gives."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.counted_lives import counted_lives
from garage.lifetimes.life_rows import LivesArrays, RiskRows, checked_lives
from garage.lifetimes.risk_table import RiskTable

COLUMNS = ("clock", "entered", "failed", "corrected", "withdrawn", "at_risk")
CAUSES = ("one", "two")

entries = st.one_of(st.integers(-1, 30), st.integers(-1, 10**9))
life = st.tuples(entries, st.integers(0, 40), st.integers(0, 2))


def lives_of(rows: list[tuple[int, int, int]], kind: type[np.signedinteger]) -> LivesArrays:
    # An unfailed life may leave where it enters; a failed one may not.
    entry = [entry for entry, _, _ in rows]
    exit_ = [entry + max(watched, min(cause, 1)) for entry, watched, cause in rows]
    cause = [cause for _, _, cause in rows]
    return LivesArrays(*(np.array(each, kind) for each in (entry, exit_, cause)))


@given(st.lists(life, max_size=30), st.sampled_from([np.int32, np.int64]))
def test_table_of_lives_equals_the_one_that_its_rows_give(
    rows: list[tuple[int, int, int]], kind: type[np.signedinteger]
) -> None:
    table = RiskTable.from_lives(lives_of(rows, kind), unit="km", causes=CAUSES)
    # Second way: each life as two rows, through every check of a table.
    nothing = np.zeros(len(rows), np.int64)
    lives = lives_of(rows, np.int64)
    failed = np.array([np.equal(lives.cause, number) for number in (1, 2)], np.int64)
    checked = RiskTable.from_rows(
        RiskRows(
            clock=np.concatenate([lives.entry, lives.exit]),
            entered=np.concatenate([nothing + 1, nothing]),
            failed=np.hstack([np.zeros_like(failed), failed]),
            withdrawn=np.concatenate([nothing, np.equal(lives.cause, 0)]),
        ),
        unit="km",
        causes=CAUSES,
    )
    assert (table.unit, table.causes) == (checked.unit, checked.causes)
    for name in COLUMNS:
        ours, theirs = getattr(table, name), getattr(checked, name)
        assert (ours.dtype, ours.tolist()) == (theirs.dtype, theirs.tolist()), name
    assert table.at_risk_at([0, 10**10]).tolist() == checked.at_risk_at([0, 10**10]).tolist()


def test_table_of_lives_cannot_be_written_to() -> None:
    table = RiskTable.from_lives(LivesArrays([0, 0], [3, 5], [1, 0]), unit="km")
    for name in COLUMNS[:-1]:
        with pytest.raises(ValueError, match="read-only"):
            getattr(table, name)[..., 0] = 1


def test_table_of_lives_stays_apart_from_the_arrays_given() -> None:
    entry, exit_ = np.zeros(2, np.int32), np.array([3, 5], np.int32)
    cause = np.array([1, 0], np.int32)
    table = RiskTable.from_lives(LivesArrays(entry, exit_, cause), unit="km")
    exit_[0], cause[0] = 4, 0
    assert (table.clock.tolist(), table.failed.tolist()) == ([0, 3, 5], [[0, 1, 0]])


@pytest.mark.parametrize("causes", [(), ("worn", "worn")])
def test_causes_not_named_once_each_are_refused_from_lives(causes: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="names each of its causes once"):
        RiskTable.from_lives(LivesArrays([0], [3], [0]), unit="km", causes=causes)


def test_capture_share_too_near_0_to_divide_by_is_refused() -> None:
    def table(capture: float) -> RiskTable:
        lives = LivesArrays([0], [3], [1], capture=[capture])
        return RiskTable.from_lives(lives, unit="km")

    assert table(1e-300).corrected.sum() == pytest.approx(1e300)
    with (
        np.errstate(over="ignore"),
        pytest.raises(ValueError, match="`corrected` counts lives and is never below 0; got inf"),
    ):
        table(5e-324)


@pytest.mark.parametrize("kind", [np.int32, np.int64, np.uint8, np.float64])
@pytest.mark.parametrize(
    ("entry", "exit_", "cause", "rule"),
    [
        ([0, 5], [3, 4], [1, 1], r"no earlier than it enters; got 5, 4 at index 1"),
        ([0, 5], [3, 5], [1, 2], r"no watched time.*got 5, 5 at index 1"),
        ([0, 0], [3, 5], [1, 3], r"0 \(withdrawn\) to 2; got 3 at index 1"),
    ],
)
def test_lives_that_cannot_be_are_refused_in_every_kind_of_number(
    kind: type[np.number], entry: list[int], exit_: list[int], cause: list[int], rule: str
) -> None:
    lives = LivesArrays(*(np.array(each, kind) for each in (entry, exit_, cause)))
    with pytest.raises(ValueError, match=rule):
        counted_lives(lives, 2)


@pytest.mark.parametrize("kind", [np.int32, np.int64, np.float64])
@pytest.mark.parametrize(
    ("entry", "cause", "rule"),
    [
        ([0, -2], [1, 1], r"enters at -1 or later; got -2, 5 at index 1"),
        ([0, 0], [1, -1], r"0 \(withdrawn\) or a number from 1; got -1 at index 1"),
    ],
)
def test_numbers_below_those_allowed_are_refused(
    kind: type[np.number], entry: list[int], cause: list[int], rule: str
) -> None:
    lives = LivesArrays(*(np.array(each, kind) for each in (entry, [3, 5], cause)))
    with pytest.raises(ValueError, match=rule):
        checked_lives(lives)


def test_columns_of_small_numbers_do_not_run_over() -> None:
    # The largest that each kind holds, and an entry at -1 that shifts every place by one.
    for kind in (np.int8, np.int16, np.int32):
        most = int(np.iinfo(kind).max)
        lives = LivesArrays(*(np.array(each, kind) for each in ([-1, 0], [most, most], [1, 2])))
        table = RiskTable.from_lives(lives, unit="km", causes=CAUSES)
        assert table.clock.tolist() == [-1, 0, most]
        assert table.failed.tolist() == [[0, 0, 1], [0, 0, 1]]


def test_nobody_is_at_risk_before_the_first_clock_value_or_in_an_empty_table() -> None:
    table = RiskTable.from_lives(LivesArrays([4, 4], [6, 9], [1, 0]), unit="km")
    assert table.at_risk_at([-1, 4, 5, 9, 10]).tolist() == [0, 0, 2, 1, 0]
    assert float(table.at_risk_at(5)) == 2
    empty = RiskTable.empty("km")
    assert empty.at_risk_at([0, 5]).tolist() == [0, 0]
    assert float(empty.at_risk_at(5)) == 0

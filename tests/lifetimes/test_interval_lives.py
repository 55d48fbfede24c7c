"""Interval lives keep their rules, and hold the lives of a risk table."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.lifetimes.conftest import table_of

SOUND: dict[str, Any] = {
    "left": [1.0, 4.0],
    "right": [3.0, np.inf],
    "entry": [0.0, 2.0],
    "weight": [1.0, 0.5],
}


def test_sound_rows_are_taken_and_locked() -> None:
    given_left = np.array(SOUND["left"])
    lives = IntervalLives(**{**SOUND, "left": given_left})
    assert (lives.n, lives.failed) == (1.5, 1.0)
    with pytest.raises(ValueError, match="read-only"):
        lives.left[0] = 0.5
    given_left[0] = 0.5
    assert lives.left[0] == 1.0


@pytest.mark.parametrize(
    ("name", "values", "rule"),
    [
        ("left", [[1.0, 4.0]], "one number for each life"),
        ("right", [3.0], r"`right` must have shape \(2,\)"),
        ("entry", [0.0], r"`entry` must have shape \(2,\)"),
        ("weight", [1.0], r"`weight` must have shape \(2,\)"),
        ("left", [1.0, np.inf], "`left` is a finite number; got inf at index 1"),
        ("left", [np.nan, 4.0], "`left` is a finite number; got nan at index 0"),
        ("entry", [0.0, -np.inf], "`entry` is a finite number"),
        ("weight", [np.nan, 0.5], "`weight` is a finite number"),
        ("right", [np.nan, 5.0], "`right` is a number, or inf"),
        ("entry", [-0.5, 2.0], "watched from 0 or later, or from -1"),
        ("entry", [1.5, 2.0], "never below `entry`; got 1.0, 1.5 at index 0"),
        ("right", [0.5, np.inf], "never below `left`.*got 1.0, 0.5 at index 0"),
        ("weight", [1.0, -1.0], "0 or more; got -1.0 at index 1"),
    ],
)
def test_row_that_breaks_a_rule_is_refused(name: str, values: list[Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        IntervalLives(**{**SOUND, name: values})


def test_failure_at_its_entry_is_refused_unless_watch_began_before_zero() -> None:
    with pytest.raises(ValueError, match="no watched time"):
        IntervalLives([0.0], [0.0])
    assert IntervalLives([0.0], [0.0], [-1.0]).failed == 1


def test_no_lives() -> None:
    assert IntervalLives([], []).n == 0
    assert IntervalLives.from_rows([]).n == 0
    assert IntervalLives.from_risk_table(RiskTable.empty("km")).n == 0


def test_rows_are_taken_with_their_counts() -> None:
    lives = IntervalLives.from_rows([(10, 20, 2), (30, 45, 1)])
    assert lives.left.tolist() == [10, 30]
    assert lives.right.tolist() == [20, 45]
    assert lives.weight.tolist() == [2, 1]
    with pytest.raises(ValueError, match="last sound, found failed, count"):
        IntervalLives.from_rows([(10, 20)])  # type: ignore[list-item]


def test_distinct_joins_equal_rows() -> None:
    lives = IntervalLives([5, 1, 5, 5], [9, np.inf, 9, 9], [0, 0, 0, 3], [1, 2, 4, 8]).distinct()
    rows = zip(lives.left, lives.right, lives.entry, lives.weight, strict=True)
    assert [tuple(map(float, row)) for row in rows] == [
        (1, np.inf, 0, 2),
        (5, 9, 0, 5),
        (5, 9, 3, 8),
    ]


def test_table_whose_failures_are_divided_by_a_capture_share_is_refused() -> None:
    table = RiskTable.from_lives(LivesArrays([0], [3], [1], capture=[0.5]), unit="km")
    with pytest.raises(ValueError, match="capture share"):
        IntervalLives.from_risk_table(table)


@pytest.mark.parametrize(
    "row",
    [(3, 3, 1), (1, 3, 2), (1, 3, -1), (1, 2, 1), (1, 9, 1)],
    ids=["no width", "too many", "below 0", "not in the table", "beyond the table"],
)
def test_interval_that_the_table_does_not_hold_is_refused(row: tuple[int, int, int]) -> None:
    table = table_of([3, 5, 5], [1, 0, 1])
    with pytest.raises(ValueError, match="holds its failures"):
        IntervalLives.from_risk_table(table, [row])
    IntervalLives.from_risk_table(table, [(1, 3, 1)])


def test_interval_that_begins_before_its_entry_is_refused() -> None:
    table = table_of([5, 9], [1, 0], [2, 3])
    IntervalLives.from_risk_table(table, [(2, 5, 1)])
    with pytest.raises(ValueError, match="last sound by 1 than had entered"):
        IntervalLives.from_risk_table(table, [(1, 5, 1)])


@st.composite
def watched(draw: st.DrawFn) -> tuple[list[int], list[int], list[int]]:
    count = draw(st.integers(1, 12))
    entry = [draw(st.integers(-1, 6)) for _ in range(count)]
    exit_ = [each + draw(st.integers(1, 6)) for each in entry]
    return entry, exit_, [draw(st.integers(0, 1)) for _ in range(count)]


@given(watched())
def test_lives_of_a_table_make_the_same_table(rows: tuple[list[int], ...]) -> None:
    entry, exit_, failed = rows
    table = table_of(exit_, failed, entry)
    lives = IntervalLives.from_risk_table(table)
    again = table_of(lives.left, (~lives.unfailed).astype(int), lives.entry, lives.weight)
    assert again == table


def test_fractional_withdrawals_keep_every_entry_watched() -> None:
    rows = RiskTable.from_lives(LivesArrays([0, 0, 4], [3, 9, 9], [1, 0, 1]), unit="km").to_dict()
    rows["withdrawn"][rows["clock"].index(4)] = 0.25
    rows["withdrawn"][rows["clock"].index(9)] = 0.5
    lives = IntervalLives.from_risk_table(RiskTable.from_dict(rows))
    assert lives.n == pytest.approx(3)
    # A quarter of a life is never seen to leave: it is unfailed where the table ends.
    gone = lives.unfailed & (lives.left == 9)
    assert lives.weight[gone].sum() == pytest.approx(0.75)


def test_marked_rows_are_taken() -> None:
    lives = IntervalLives([1, 2, 3], [4, 5, 6], [0, 1, 2], [7, 8, 9])
    kept = lives.where(lives.left != 2)
    assert (kept.left.tolist(), kept.right.tolist()) == ([1, 3], [4, 6])
    assert (kept.entry.tolist(), kept.weight.tolist()) == ([0, 2], [7, 9])


def test_failures_known_to_the_clock_value_are_exact_and_others_are_not() -> None:
    lives = IntervalLives([2, 3, 5], [2, 4, np.inf])
    assert lives.exact.tolist() == [True, False, False]
    assert lives.unfailed.tolist() == [False, False, True]

"""Rows of a likelihood: from a table and from lives one by one they are the same."""

import numpy as np
import pytest

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.lifetimes.conftest import table_of


def test_table_and_single_lives_give_the_same_sums() -> None:
    table = table_of([3, 5, 5, 9], [1, 0, 1, 1], entry=[0, 2, 0, 4])
    lives = IntervalLives([3, 5, 5, 9], [3, np.inf, 5, 9], entry=[0, 2, 0, 4])
    ours, theirs = LikelihoodRows.from_table(table), LikelihoodRows.from_intervals(lives)
    for name in ("n", "failed", "counted", "exposure"):
        assert getattr(ours, name) == getattr(theirs, name)
    assert dict(zip(ours.exact, ours.exact_weight, strict=True)) == {3: 1, 5: 1, 9: 1}
    assert dict(zip(ours.alive, ours.alive_weight, strict=True)) == {2: -1, 4: -1, 5: 1}
    assert dict(zip(theirs.alive, theirs.alive_weight, strict=True)) == {2: -1, 4: -1, 5: 1}


def test_exposure_of_an_interval_ends_where_the_life_was_last_sound() -> None:
    lives = IntervalLives([10, 20, 5], [15, np.inf, 5], entry=[4, 0, 0], weight=[2, 1, 1])
    assert LikelihoodRows.from_intervals(lives).exposure == 2 * 6 + 20 + 5


def test_corrected_failures_count_more_than_were_seen() -> None:
    lives = LivesArrays([0, 0], [10, 20], [1, 0], capture=[0.5, 1.0])
    rows = LikelihoodRows.from_table(RiskTable.from_lives(lives, unit="km"))
    assert (rows.failed, rows.counted, rows.share_seen) == (1, 2, 0.5)
    # One failure leaves, two are counted: log h twice, H once.
    assert dict(zip(rows.alive, rows.alive_weight, strict=True)) == {10: -1, 20: 1}


def test_rows_of_equal_lives_are_joined() -> None:
    once = LikelihoodRows.from_intervals(IntervalLives([10, 30], [20, np.inf], weight=[3, 2]))
    each = LikelihoodRows.from_intervals(
        IntervalLives([10, 30, 10, 30, 10], [20, np.inf] * 2 + [20])
    )
    assert each.low.tolist() == once.low.tolist() == [10]
    assert each.between_weight.tolist() == once.between_weight.tolist() == [3]
    assert each.alive_weight.tolist() == once.alive_weight.tolist() == [2]


@pytest.mark.parametrize(
    ("left", "right", "one"),
    [
        ([10, 8], [10, 12], True),
        ([10, 8, 20], [10, 12, np.inf], False),
        ([10, 10], [10, 11], True),
        ([10, 11], [10, 12], False),
        ([0, 0, 5], [10, 10, np.inf], True),
        ([0, 0, 10], [10, 10, np.inf], False),
        ([10, 10], [10, np.inf], True),
    ],
)
def test_whether_failures_may_be_one_distance(
    left: list[float], right: list[float], one: bool
) -> None:
    rows = LikelihoodRows.from_intervals(IntervalLives(left, right))
    assert rows.may_be_one_distance is one

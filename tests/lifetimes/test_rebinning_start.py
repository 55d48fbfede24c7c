"""Failures at clock 0 stay there when a table is put in bins."""

import numpy as np
import pytest

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.rebinning import rebinned
from garage.lifetimes.risk_table import LivesArrays, RiskTable


def test_failures_at_the_start_stay_apart_from_the_first_bin() -> None:
    entry, exit_ = [-1] * 10, [0, 0, 3, 7, 12, 15, 18, 24, 28, 30]
    lives = LivesArrays(entry, exit_, [1, 1, 1, 1, 1, 0, 1, 1, 0, 0])
    fine = RiskTable.from_lives(lives, unit="km")
    coarse = rebinned(fine, 10)
    failing = coarse.failed[0] > 0
    assert coarse.clock[failing].tolist() == [0, 10, 20, 30]
    assert coarse.failed[0][failing].tolist() == [2, 2, 2, 1]
    # 8/10; 6/8 of it; 5/6 * 3/4 with one leaving between; 2/3.
    assert product_limit(coarse, smallest_risk_set=1).survival == pytest.approx(
        [0.8, 0.6, 0.375, 0.25]
    )


def test_failures_at_the_start_alone_are_left_as_they_are() -> None:
    fine = RiskTable.from_lives(LivesArrays([-1] * 3, [0, 0, 8], [1, 1, 0]), unit="km")
    coarse = rebinned(fine, 5)
    failing = coarse.failed[0] > 0
    assert (coarse.clock[failing].tolist(), coarse.failed[0][failing].tolist()) == ([0], [2])


def test_counts_moved_whole_stay_whole() -> None:
    rng = np.random.default_rng(4)
    exits = rng.integers(1, 1000, 400)
    fine = RiskTable.from_lives(LivesArrays([0] * 400, exits, np.ones(400, int)), unit="km")
    coarse = rebinned(fine, 50)
    assert coarse.corrected.tolist() == coarse.failed.tolist()

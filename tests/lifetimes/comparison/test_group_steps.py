"""Groups counted from lives, some at a time, are those brought together from their tables."""

import numpy as np
import pytest

from garage.lifetimes import entries_and_exits
from garage.lifetimes.comparison import group_steps, log_rank
from garage.lifetimes.comparison.group_steps import GroupSteps
from garage.lifetimes.comparison.log_rank import log_rank_of_lives
from garage.lifetimes.comparison.log_rank_weights import PETO_PETO
from garage.lifetimes.risk_table import LivesArrays, RiskTable

GROUPS = 3


def lives_in_groups(*, seed: int) -> tuple[LivesArrays, np.ndarray]:
    rng = np.random.default_rng(seed)
    entry = rng.integers(-1, 30, 400) * rng.integers(0, 2, 400)
    exit_ = entry + rng.integers(1, 60, 400)
    return LivesArrays(entry, exit_, rng.integers(0, 2, 400)), rng.integers(0, GROUPS, 400)


def refuse_unlike(found: GroupSteps, expected: GroupSteps) -> None:
    for name in ("n", "corrected", "clock", "at_risk", "failed"):
        np.testing.assert_array_equal(getattr(found, name), getattr(expected, name), name)


@pytest.mark.parametrize("few", [1, 7])
def test_groups_of_lives_are_those_of_their_tables(
    monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    lives, group = lives_in_groups(seed=3)
    arrays = [np.asarray(each) for each in (lives.entry, lives.exit, lives.cause)]
    tables = [
        RiskTable.from_lives(LivesArrays(*(each[group == number] for each in arrays)), unit="km")
        for number in range(GROUPS)
    ]
    expected = GroupSteps.from_tables(tables)
    refuse_unlike(GroupSteps.from_lives(lives, group), expected)
    monkeypatch.setattr(entries_and_exits, "LIVES_AT_A_TIME", few)
    monkeypatch.setattr(group_steps, "PLACES_AT_A_TIME", few)
    refuse_unlike(GroupSteps.from_lives(lives, group), expected)


def test_test_judged_a_few_steps_at_a_time_is_the_one_judged_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lives, group = lives_in_groups(seed=4)
    whole = log_rank_of_lives(lives, group, weights=PETO_PETO)
    monkeypatch.setattr(log_rank, "STEPS_AT_A_TIME", 5)
    parts = log_rank_of_lives(lives, group, weights=PETO_PETO)
    assert (parts.n, parts.failed, parts.status) == (whole.n, whole.failed, whole.status)
    for name in ("statistic", "observed", "expected", "variance"):
        np.testing.assert_allclose(getattr(parts, name), getattr(whole, name), rtol=1e-12)


def test_more_lives_of_a_group_at_one_clock_value_than_a_narrow_count_holds() -> None:
    many = 2**16
    lives = LivesArrays([0, 0] + [2] * many, [3, 9] + [5] * many, [1, 0] + [1] * many)
    steps = GroupSteps.from_lives(lives, [0, 0] + [1] * many)
    assert steps.clock.tolist() == [3, 5]
    assert steps.at_risk.tolist() == [[2, 1], [many, many]]
    assert steps.failed.tolist() == [[1, 0], [0, many]]

"""The sets in which a curve may fall, against cases worked by hand."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.curves.interval_sets import CandidateSets, candidate_sets
from garage.lifetimes.interval_lives import IntervalLives
from tests.lifetimes.curves.interval_atoms import interval_lives

SOUND = np.inf


def spelled(sets: CandidateSets) -> list[str]:
    """Sets as they are written: (4, 5]."""
    return [
        f"{'[' if closed else '('}{left:g}, {right:g}{')' if np.isinf(right) else ']'}"
        for left, right, closed in zip(sets.left, sets.right, sets.left_closed, strict=True)
    ]


def test_sets_lie_between_a_left_and_the_next_right() -> None:
    sets = candidate_sets(IntervalLives([0, 4, 6, 9], [5, 8, SOUND, 9]))
    assert spelled(sets) == ["(4, 5]", "(6, 8]", "[9, 9]"]


def test_interval_that_ends_where_another_begins_depends_on_the_convention() -> None:
    lives = IntervalLives([1, 4], [4, 6])
    assert spelled(candidate_sets(lives)) == ["(1, 4]", "(4, 6]"]
    assert spelled(candidate_sets(lives, closed_left=True)) == ["[4, 4]"]


def test_unfailed_life_fails_after_its_left_in_both_conventions() -> None:
    lives = IntervalLives([4, 4], [4, SOUND])
    for closed_left in (False, True):
        sets = candidate_sets(lives, closed_left=closed_left)
        assert spelled(sets) == ["[4, 4]", "(4, inf)"]
        assert sets.outlived.tolist() == [1, 0]
        assert sets.endless.tolist() == [False, True]


def test_entry_of_a_life_that_was_sound_then_ends_a_set() -> None:
    # From 5 on a second life would have to outlive the failure.
    assert spelled(candidate_sets(IntervalLives([2, 8], [9, 9], [0, 5]))) == ["(2, 5]", "(8, 9]"]
    # One that may have failed from its entry on does not mind.
    assert spelled(candidate_sets(IntervalLives([2, 5], [9, 9], [0, 5]))) == ["(5, 9]"]


def test_failure_never_lies_at_its_entry() -> None:
    lives = IntervalLives([3, 3], [4, SOUND], [3, 0])
    assert spelled(candidate_sets(lives, closed_left=True)) == ["(3, 4]"]


def test_counts_of_lives_at_each_set() -> None:
    lives = IntervalLives([0, 4, 6, 7], [5, 8, SOUND, SOUND], [0, 0, 0, 5], [1, 2, 4, 8])
    sets = candidate_sets(lives)
    assert spelled(sets) == ["(4, 5]", "(7, 8]"]
    assert sets.outlived.tolist() == [4, 0]
    assert sets.at_risk.tolist() == [7, 2]


def test_cuts_part_sets_and_keep_what_only_a_promise_would_use() -> None:
    lives = IntervalLives([4, 9], [8, SOUND])
    assert spelled(candidate_sets(lives, cuts=(0, 6))) == ["(4, 6]", "(6, 8]", "(9, inf)"]
    assert spelled(candidate_sets(lives, cuts=(0, 2))) == ["(0, 2]", "(4, 8]", "(9, inf)"]


@given(interval_lives(), st.booleans())
def test_each_set_is_wholly_inside_or_outside_each_life(
    lives: IntervalLives, closed_left: bool
) -> None:
    sets = candidate_sets(lives, closed_left=closed_left)
    for row, (left, right) in enumerate(zip(lives.left, lives.right, strict=True)):
        mine = slice(sets.first[row], sets.beyond[row])
        assert np.all(sets.left[mine] >= max(left, lives.entry[row]))
        assert np.all(sets.right[mine] <= right)
        if np.isfinite(right):
            assert sets.beyond[row] > sets.first[row]
    assert np.all(sets.left[1:] >= sets.right[:-1])

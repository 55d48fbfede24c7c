"""What lives and visit groups must meet, one fault at a time."""

from typing import Any

import numpy as np
import pytest

from garage.lifetimes.resampling.expected_lives import VisitGroup, expected_table
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.model import visit_fit
from tests.lifetimes.resampling.silent_lives import YEARLY, group_with, lives_of, once_seen


def test_what_is_left_out_is_the_plainest() -> None:
    lives = lives_of(2)
    assert lives.looked.tolist() == lives.exit.tolist()
    assert lives.still_here.tolist() == [0, 0]
    assert lives.gone_by.tolist() == [-1, -1]
    assert lives.n == 2


def test_vehicles_may_have_any_codes() -> None:
    assert lives_of(3, cluster=[907, 12, 907]).cluster.tolist() == [1, 0, 1]


@pytest.mark.parametrize(
    ("columns", "rule"),
    [
        ({"entry": [0, -2]}, "enters at -1 or later; got -2 at index 1"),
        ({"entry": [0, 100_001]}, "leaves no earlier than it enters"),
        (
            {"failed": [False, True], "silent": [True, False], "entry": [0, 100_000]},
            "no watched time",
        ),
        ({"failed": [False, True]}, "a failed life does not leave by shares"),
        ({"history": [0, -1]}, "a silent life has a row of histories; got -1 at index 1"),
        ({"pace": [1.0, -1.0]}, "a silent life has a pace"),
        ({"pace": [1.0, np.nan]}, "a silent life has a pace"),
        ({"looked": [0, 100_001]}, "looked at no later than it leaves; got 100001 at index 1"),
        ({"gone_by": [-1, 120_000]}, "neither failed nor silent"),
        ({"gone_by": [-1, 99_999], "silent": [True, False]}, "no earlier than its exit"),
        ({"exit": [0.5, 1]}, "`exit` holds whole numbers"),
        ({"cluster": [1]}, "`cluster` must have shape"),
        ({"silent": [True]}, "`silent` must have shape"),
    ],
)
def test_lives_that_cannot_be_are_refused(columns: dict[str, Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        lives_of(2, **columns)


def test_a_life_that_is_not_silent_needs_neither_pace_nor_history() -> None:
    lives = lives_of(2, silent=[True, False], history=[0, -1], pace=[1.0, np.nan])
    assert lives.silent.tolist() == [True, False]


def test_group_without_a_law_is_refused() -> None:
    known = once_seen(3, 2.0)
    with pytest.raises(ValueError, match="a visit group has a law; got none: 0 of 3 vehicles"):
        VisitGroup(visit_fit(known), known)


@pytest.mark.parametrize("share", [-0.1, 1.0])
def test_stay_away_share_that_cannot_be_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="stay-away share lies from 0 to below 1"):
        group_with(YEARLY, once_seen(1, 1.0), share)


def test_groups_and_rows_that_are_not_there_are_refused() -> None:
    known = VisitHistories.from_sums([0, 0], [0, 0], [1, 1])
    group = group_with(YEARLY, known)
    with pytest.raises(ValueError, match="numbered 0 to 0, for there are 1 visit groups"):
        expected_table(lives_of(2, group=[0, 1]), [group], [1.0, 1.0])
    with pytest.raises(ValueError, match=r"numbered 0 to 0.*1 capture shares"):
        expected_table(lives_of(2, group=[0, 1]), [group, group], [1.0])
    with pytest.raises(ValueError, match="group 0 has 2 histories; got row 2 at index 1"):
        expected_table(lives_of(2, history=[0, 2]), [group], [1.0])

"""Where a curve hangs on too few, though more come under watch later."""

import numpy as np
import pytest

from garage.lifetimes.curves.thin_places import thin_places

CLOCK = np.array([3, 5, 8, 90, 95])


def places(at_risk: list[float], failing: list[bool], start: int = 0) -> list[int]:
    return thin_places(CLOCK, np.array(at_risk), np.array(failing), smallest=10, start=start)


@pytest.mark.parametrize(
    ("at_risk", "failing", "expected"),
    [
        ([9, 9, 9, 12, 12], [True, False, True, True, True], [3, 8]),  # few, many later
        ([10, 10, 10, 12, 12], [True] * 5, []),  # enough throughout
        ([9, 9, 9, 9, 9], [True] * 5, []),  # never more: thin, but nothing rests on it
        ([12, 12, 12, 3, 2], [True] * 5, []),  # a thin tail
        ([9, 9, 9, 12, 12], [False, False, False, True, True], []),  # few, but none failed
        ([0, 3, 0, 3, 3], [False] * 5, [5]),  # nobody for a while
        ([0, 0, 0, 3, 3], [False] * 5, []),  # nobody at first is a late start
        ([3, 3, 3, 3, 0], [False] * 5, [90]),
    ],
)
def test_places_are_those_a_curve_cannot_be_carried_beyond(
    at_risk: list[float], failing: list[bool], expected: list[int]
) -> None:
    assert places(at_risk, failing) == expected


def test_places_up_to_the_start_do_not_count() -> None:
    at_risk, failing = [9.0, 9, 9, 12, 12], [True] * 5
    assert places(at_risk, failing, start=3) == [5, 8]
    assert places(at_risk, failing, start=8) == []


def test_empty_clock_has_no_places() -> None:
    empty = np.zeros(0)
    assert thin_places(empty.astype(int), empty, empty.astype(bool), smallest=10, start=0) == []

"""Windows and failures of systems as they are handed in."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from garage.lifetimes.curves.recurrent_events import RecurrentEvents, watched_events

SOUND = RecurrentEvents(
    system=["a", "a", "b", "c"],
    entry=[0, 9, 2, 5],
    exit=[5, 12, 7, 5],
    event_system=["a", "b", "a", "a"],
    event_clock=[5, 6, 12, 5],
    unit="km",
    cost=[1, 2, 3, 4],
)


def test_windows_and_failures_are_counted_by_clock() -> None:
    watched = watched_events(SOUND)
    assert watched.n == 2  # the third was never watched
    assert watched.clock.tolist() == [0, 2, 5, 6, 7, 9, 12]
    assert watched.at_risk.tolist() == [0, 1, 2, 1, 1, 0, 1]
    assert watched.failures.tolist() == [0, 0, 2, 1, 0, 0, 1]
    assert watched.mark_size.tolist() == [5, 3, 2]
    assert watched.at_risk_at([1, 5, 5.5, 8, 10, 12, 13]).tolist() == [1, 2, 1, 0, 1, 1, 0]


def test_windows_that_overlap_touch_or_hold_one_another_are_one() -> None:
    watched = watched_events(
        RecurrentEvents(
            system=[1, 1, 1, 1, 2],
            entry=[20, 0, 3, 8, 25],
            exit=[30, 8, 4, 12, 26],
            event_system=[1],
            event_clock=[9],
            unit="km",
        )
    )
    windows = zip(
        watched.window_system.tolist(),
        watched.clock[watched.window_entry].tolist(),
        watched.clock[watched.window_exit].tolist(),
        strict=True,
    )
    assert list(windows) == [(0, 0, 12), (0, 20, 30), (1, 25, 26)]


def test_failure_at_an_entry_is_outside_and_at_an_exit_inside() -> None:
    inside = replace(SOUND, event_clock=[5, 7, 12, 5])
    assert watched_events(inside).failures.sum() == 4
    with pytest.raises(ValueError, match=r"window of its system.*got b, 2 at index 1"):
        watched_events(replace(SOUND, event_clock=[5, 2, 12, 5]))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"event_clock": [5, 6, 7, 5]}, "got a, 7 at index 2"),  # in the gap
        ({"event_clock": [5, 6, 13, 5]}, "got a, 13 at index 2"),  # after the last
        ({"event_clock": [5, 8, 12, 5]}, "got b, 8 at index 1"),
        ({"event_system": ["a", "d", "a", "a"]}, "got d, 6 at index 1"),
        ({"event_system": ["a", "c", "a", "a"]}, "got c, 6 at index 1"),
        ({"exit": [5, 8, 7, 5]}, "ends no earlier than it begins; got 9, 8 at index 1"),
        ({"entry": [-2, 9, 2, 5]}, "begins at -1 or later; got -2, 5 at index 0"),
        ({"cost": [1, -1, 3, 4]}, "0 or more; got -1.0 at index 1"),
        ({"cost": [1, np.inf, 3, 4]}, "0 or more; got inf at index 1"),
        ({"entry": [0, 9.5, 2, 5]}, "whole numbers; got 9.5 at index 1"),
        ({"exit": [5, 12, 7]}, r"`exit` must have shape \(4,\)"),
        ({"event_clock": [5]}, r"`event_clock` must have shape \(4,\)"),
        ({"cost": [5]}, r"`cost` must have shape \(4,\)"),
    ],
)
def test_broken_rule_is_named_with_what_came(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        watched_events(replace(SOUND, **change))


def test_nothing_watched_is_an_empty_clock_and_its_failures_are_refused() -> None:
    empty = RecurrentEvents([], [], [], [], [], "km")
    assert watched_events(empty).n == 0
    assert watched_events(empty).at_risk_at(5).tolist() == 0
    with pytest.raises(ValueError, match="window of its system"):
        watched_events(replace(empty, event_system=[1], event_clock=[5]))

"""Failures that repeat on one system, with the windows in which each system was watched."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.life_rows import FROM_THE_START, refuse_first, refuse_shape, whole_numbers


@dataclass(frozen=True, slots=True)
class RecurrentEvents:
    """Systems (vehicles, say), the windows in which they were watched, and their failures.

    Parameters
    ----------
    system : array, shape (w,)
        Whose window it is: numbers or text. A system may have several windows.
    entry, exit : array, shape (w,), whole clock units
        Watched on (entry, exit]: a failure at `exit` counts, one at `entry` does not. `entry`
        is ``FROM_THE_START`` (-1) where failures at clock 0 itself are to count. Windows of
        one system that overlap or touch are one window.
    event_system : array, shape (e,)
        Who failed.
    event_clock : array, shape (e,), whole clock units
        When; inside a window of that system.
    unit : str
        Of the clock, such as ``"km"``.
    cost : array, shape (e,), optional
        What each failure counts, 0 or more: money, hours, ... 1 where left out.
    """

    system: ArrayLike
    entry: ArrayLike
    exit: ArrayLike
    event_system: ArrayLike
    event_clock: ArrayLike
    unit: str
    cost: ArrayLike | None = None


@dataclass(frozen=True, slots=True, eq=False)
class WatchedEvents:
    """The same, checked and put on an ascending clock; made by `watched_events`.

    Attributes
    ----------
    n : int
        Systems ever watched, numbered from 0 in what follows.
    clock : array of int64, shape (r,)
        Values at which a window began or ended or something failed.
    at_risk : array, shape (r,)
        Systems under watch just before each clock value.
    failures : array of int64, shape (r,)
        Number of failures at each clock value.
    window_system, window_entry, window_exit : arrays of int64, shape (w,)
        Windows that do not touch, by system and then clock; places in `clock`.
    mark_system, mark_place : arrays of int64, shape (m,)
        Who failed at which place in `clock`, each pair once.
    mark_size : array, shape (m,)
        Failures, or their cost, of the pair.
    """

    n: int
    clock: IntArray
    at_risk: FloatArray
    failures: IntArray
    window_system: IntArray
    window_entry: IntArray
    window_exit: IntArray
    mark_system: IntArray
    mark_place: IntArray
    mark_size: FloatArray

    def at_risk_at(self, clock: ArrayLike) -> FloatArray:
        """Systems under watch just before any clock values, listed or not."""
        place = np.searchsorted(self.clock, np.asarray(clock), side="left")
        return np.asarray(np.append(self.at_risk, 0.0)[place], np.float64)


def watched_events(events: RecurrentEvents) -> WatchedEvents:
    """Check events and windows, join windows that touch, and count who is at risk.

    Raises
    ------
    ValueError
        For arrays of unlike lengths, clock values that are not whole, an exit before its
        entry, a cost below 0, or a failure outside its system's windows, named by its place.

    Examples
    --------
    A system watched in two windows that touch is at risk once:

    >>> watched = watched_events(RecurrentEvents(
    ...     system=["a", "a", "b"], entry=[0, 5, 2], exit=[5, 9, 7],
    ...     event_system=["a", "b"], event_clock=[5, 6], unit="km"))
    >>> watched.n, watched.clock.tolist(), watched.at_risk.tolist()
    (2, [0, 2, 5, 6, 7, 9], [0.0, 1.0, 2.0, 2.0, 2.0, 1.0])
    """
    window, event = np.asarray(events.system), np.asarray(events.event_system)
    entry, exit_ = whole_numbers("entry", events.entry), whole_numbers("exit", events.exit)
    when = whole_numbers("event_clock", events.event_clock)
    cost = np.ones(len(when)) if events.cost is None else np.asarray(events.cost, np.float64)
    for name, values, shape in (
        ("entry", entry, window.shape),
        ("exit", exit_, window.shape),
        ("event_clock", when, event.shape),
        ("cost", cost, event.shape),
    ):
        refuse_shape(name, values, shape)
    refuse_first(exit_ < entry, "a window ends no earlier than it begins", entry, exit_)
    refuse_first(entry < FROM_THE_START, "a window begins at -1 or later", entry, exit_)
    refuse_first(~((cost >= 0) & np.isfinite(cost)), "a cost is a number, 0 or more", cost)
    names = np.concatenate([window, event]) if event.size else window
    _, number = np.unique(names, return_inverse=True)
    number = number.astype(np.int64)
    clock, place = np.unique(np.concatenate([entry, exit_, when]), return_inverse=True)
    begin, end, at = np.split(place.astype(np.int64), [len(entry), 2 * len(entry)])
    some = begin < end
    windows = _joined(number[: len(window)][some], begin[some], end[some], len(clock))
    who = number[len(window) :]
    refuse_first(
        _outside(windows, who, at, len(clock)),
        "a failure lies within (entry, exit] of a window of its system; leave out what "
        "happened unwatched, or widen the window",
        event,
        when,
    )
    system, begin, end = windows
    numbers, system = np.unique(system, return_inverse=True)
    who = np.searchsorted(numbers, who)
    pair, mark = np.unique(who * len(clock) + at, return_inverse=True)
    rise = np.bincount(begin, minlength=len(clock)) - np.bincount(end, minlength=len(clock))
    return WatchedEvents(
        n=len(numbers),
        clock=clock.astype(np.int64),
        at_risk=(np.cumsum(rise) - rise).astype(np.float64),
        failures=np.bincount(at, minlength=len(clock)).astype(np.int64),
        window_system=system.astype(np.int64),
        window_entry=begin,
        window_exit=end,
        mark_system=pair // max(len(clock), 1),
        mark_place=pair % max(len(clock), 1),
        mark_size=np.bincount(mark, cost, len(pair)).astype(np.float64),
    )


_Windows = tuple[IntArray, IntArray, IntArray]


def _joined(system: IntArray, begin: IntArray, end: IntArray, places: int) -> _Windows:
    """Windows by system and then clock, those that overlap or touch made one."""
    order = np.lexsort((begin, system))
    system, begin, end = system[order], begin[order], end[order]
    if len(system) == 0:
        return system, begin, end
    # Later systems have larger keys, so one running maximum serves all of them.
    reached = np.maximum.accumulate(system * places + end)
    fresh = np.ones(len(system), bool)
    fresh[1:] = system[1:] * places + begin[1:] > reached[:-1]
    first = np.flatnonzero(fresh)
    last = np.append(first[1:], len(system)) - 1
    return system[first], begin[first], reached[last] - system[last] * places


def _outside(windows: _Windows, who: IntArray, at: IntArray, places: int) -> BoolArray:
    """Which failures lie in no window of their system."""
    system, begin, end = windows
    if len(system) == 0:
        return np.ones(len(who), bool)
    near = np.searchsorted(system * places + begin, who * places + at, side="left") - 1
    near_or_first = np.maximum(near, 0)
    held = (near >= 0) & (system[near_or_first] == who) & (at <= end[near_or_first])
    return np.asarray(~held, bool)

"""Where a curve hangs on too few at risk, though more come under watch later."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from garage.lifetimes.arrays import FloatArray, IntArray


def thin_places(
    clock: IntArray, at_risk: FloatArray, failed: NDArray[Any], *, smallest: int, start: int
) -> list[int]:
    """Clock values after `start` from which on a curve cannot be carried.

    Parameters
    ----------
    clock, at_risk : arrays, shape (r,)
        Every clock value at which anything happened, and the number at risk just before it.
    failed : array, shape (r,)
        What failed there; 0 where nothing did.
    smallest : int
        Number at risk under which a failure moves the curve too far, if at least so many are
        at risk later.
    start : int
        Clock value at which the curve begins.

    Notes
    -----
    A place is also one after which nobody was at risk for a while. Where the numbers fall and
    do not recover, the tail is thin, but nothing rests on it.

    Examples
    --------
    >>> at_risk = np.array([2.0, 1.0, 30.0])
    >>> failed = np.array([1, 0, 3])
    >>> thin_places(np.array([5, 8, 90]), at_risk, failed, smallest=10, start=0)
    [5]
    """
    # Few rows are thin, so only those are looked at.
    few = np.flatnonzero(at_risk < max(smallest, 1))
    nobody = few[at_risk[few] <= 0]
    if len(nobody) == len(at_risk):
        return []
    few = few[at_risk[few] < smallest]
    last = _last_beside(few, len(at_risk))
    thin = few[(failed[few] > 0) & (few < last)]
    emptied = nobody[nobody > _first_beside(nobody)] - 1
    places = clock[np.union1d(thin, emptied)]
    return [int(place) for place in places[places > start]]


def _first_beside(places: IntArray) -> int:
    """The first place from 0 on that is none of these, which ascend."""
    return int(np.argmin(np.append(places, -1) == np.arange(len(places) + 1)))


def _last_beside(places: IntArray, count: int) -> int:
    """The last place below `count` that is none of these, which ascend; -1 if all are."""
    return count - 1 - _first_beside(count - 1 - places[::-1])

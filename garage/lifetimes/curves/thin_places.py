"""Where a curve hangs on too few at risk, though more come under watch later."""

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray


def thin_places(
    clock: IntArray, at_risk: FloatArray, failing: BoolArray, *, smallest: int, start: int
) -> list[int]:
    """Clock values after `start` from which on a curve cannot be carried.

    Parameters
    ----------
    clock, at_risk : arrays, shape (r,)
        Every clock value at which anything happened, and the number at risk just before it.
    failing : array of bool, shape (r,)
        Whether anything failed there.
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
    >>> failing = np.array([True, False, True])
    >>> thin_places(np.array([5, 8, 90]), at_risk, failing, smallest=10, start=0)
    [5]
    """
    somebody, many = at_risk > 0, at_risk >= smallest
    if not np.any(somebody):
        return []
    # Few rows are thin, so only those are looked at.
    few = np.flatnonzero(~many)
    thin = few[failing[few]]
    last = len(many) - 1 - int(np.argmax(many[::-1]))
    thin = thin[thin < last] if np.any(many) else thin[:0]
    nobody = np.flatnonzero(~somebody)
    emptied = nobody[nobody > np.argmax(somebody)] - 1
    places = clock[np.union1d(thin, emptied)]
    return [int(place) for place in places[places > start]]

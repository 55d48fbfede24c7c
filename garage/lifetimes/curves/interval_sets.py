"""The stretches of the clock in which a most likely curve may fall, for interval lives."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.interval_lives import IntervalLives


@dataclass(frozen=True, slots=True, eq=False)
class CandidateSets:
    """Sets that hold all failures of a most likely curve, and what each life says of them.

    Attributes
    ----------
    left, right : arrays of float64, shape (m,), ascending
        Ends of the sets; no two overlap. `right` belongs to its set, unless it is inf.
    left_closed : array of bool, shape (m,)
        Whether `left` belongs to its set too; always so where ``left == right``.
    enters, first, beyond : arrays of int, shape (r,)
        A life was watched in the sets from `enters` on, outlived those before `first`, and
        failed in one of the sets ``first ... beyond - 1``; unfailed lives go to m.
    unfailed : array of bool, shape (r,)
    weight : array of float64, shape (r,)
    outlived, at_risk : arrays of float64, shape (m,)
        Lives known to have been watched through each set, and those who may have failed in
        it besides.
    """

    left: FloatArray
    right: FloatArray
    left_closed: BoolArray
    enters: IntArray
    first: IntArray
    beyond: IntArray
    unfailed: BoolArray
    weight: FloatArray
    outlived: FloatArray
    at_risk: FloatArray

    @property
    def size(self) -> int:
        """Number of sets."""
        return len(self.left)

    @property
    def endless(self) -> BoolArray:
        """The set beyond the last clock value at which anybody was watched, if there is one."""
        return np.asarray(np.isinf(self.right))


def candidate_sets(
    lives: IntervalLives, *, closed_left: bool = False, cuts: Sequence[float] = ()
) -> CandidateSets:
    """Find the sets for distinct lives.

    Parameters
    ----------
    lives : IntervalLives
    closed_left : bool
        Whether a failure may lie at `left` itself: [left, right] in place of (left, right].
        What is unfailed at `left` fails after it either way, and nothing fails at its entry.
    cuts : clock values, optional
        No set reaches across these. Sets are then also kept where only the promise that a
        share fails on one side of a cut could put a failure.

    Notes
    -----
    Let a failure slide to the right. Passing a `left` only helps: one more life may be the
    one that failed. Passing a `right` only harms, and so does passing the entry of a life that
    was sound then, which would have to outlive the failure from there on. So failures gather
    between a `left` and the next `right` or entry, with nothing between them.
    Source: Turnbull, JRSS B 38 (1976) 290-295; that entries end sets too: Frydman, JRSS B 56
    (1994) 71-74, Alioum and Commenges, Biometrics 52 (1996) 512-524 (all from memory).

    Examples
    --------
    >>> sets = candidate_sets(IntervalLives([0, 4, 6], [5, 8, np.inf]))
    >>> list(zip(sets.left.tolist(), sets.right.tolist()))
    [(4.0, 5.0), (6.0, 8.0)]
    """
    marks = [lives.left, lives.right[~lives.unfailed], lives.entry, np.asarray(cuts, np.float64)]
    clock = np.unique(np.concatenate(marks))
    # Number 2k stands for the clock value k itself, 2k + 1 for all between it and the next.
    endless = 2 * len(clock) - 1
    at_left, entry = (2 * np.searchsorted(clock, each) for each in (lives.left, lives.entry))
    at_right = 2 * np.searchsorted(clock, np.where(lives.unfailed, lives.left, lives.right))
    opens_at = lives.exact | (closed_left & ~lives.unfailed)
    begins = np.maximum(np.where(opens_at, at_left, at_left + 1), entry + 1)
    ends = np.where(lives.unfailed, endless, at_right)
    cut = 2 * np.searchsorted(clock, np.asarray(cuts, np.float64))
    opening = np.unique(np.concatenate([begins, cut + 1]))
    closing = np.unique(np.concatenate([ends, entry[entry + 1 < begins], cut]))
    start, end = _innermost(opening, closing)
    enters, first = np.searchsorted(start, entry + 1), np.searchsorted(start, begins)
    beyond = np.searchsorted(end, ends, side="right")
    weight, size = lives.weight, len(start)
    gone = np.where(lives.unfailed, first, beyond)
    return CandidateSets(
        left=clock[start // 2],
        right=np.where(end == endless, np.inf, clock[np.minimum(end // 2, len(clock) - 1)]),
        left_closed=start % 2 == 0,
        enters=enters,
        first=first,
        beyond=beyond,
        unfailed=lives.unfailed,
        weight=weight,
        outlived=counted_over(enters, first, weight, size),
        at_risk=counted_over(enters, gone, weight, size),
    )


def counted_over(first: IntArray, beyond: IntArray, weight: FloatArray, size: int) -> FloatArray:
    """Sum of weights over each of `size` places, a weight counting at first ... beyond - 1."""
    steps = np.bincount(first, weight, size + 1) - np.bincount(beyond, weight, size + 1)
    return np.asarray(np.cumsum(steps)[:-1], np.float64)


def _innermost(opening: IntArray, closing: IntArray) -> tuple[IntArray, IntArray]:
    """Pair each closing with the last opening before it, if no other closing comes between."""
    place = np.searchsorted(opening, closing, side="right") - 1
    paired = place >= 0
    start = opening[np.maximum(place, 0)]
    before = np.concatenate([[-1], closing[:-1]])
    paired &= start > before
    return start[paired], closing[paired]

"""Lives and counted rows as they are handed in, checked before they become a table."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import FloatArray, IntArray, WholeArray
from garage.lifetimes.counting import DENSE_VALUES_PER_ROW, placed

FROM_THE_START = -1
"""Entry of a life that is at risk at clock 0 itself, for failures on the same day or km."""


@dataclass(frozen=True, slots=True)
class LivesArrays:
    """Lives one by one, as arrays of one length.

    Parameters
    ----------
    entry, exit : array, shape (n,), whole clock units
        A life is at risk on (entry, exit]: after `entry`, up to and including `exit`.
        `entry` is 0 for a life watched from its start, or ``FROM_THE_START`` (-1) where
        failures at clock 0 itself are to count.
    cause : array of int, shape (n,)
        0 for a life left unfailed (withdrawn), else the number of its cause from 1.
    weight : array of whole numbers, shape (n,), optional
        How many lives the row stands for; 1 where left out.
    capture : array, shape (n,), optional
        Share in (0, 1] of such failures that come to be seen; a seen failure counts
        1 / capture in the column *corrected*. 1 where left out.
    """

    entry: ArrayLike
    exit: ArrayLike
    cause: ArrayLike
    weight: ArrayLike | None = None
    capture: ArrayLike | None = None


@dataclass(frozen=True, slots=True)
class RiskRows:
    """Counts by clock value, in any order and with repeats, as a ``GROUP BY`` gives them.

    Parameters
    ----------
    clock : array, shape (r,), whole clock units
    entered : array of whole numbers, shape (r,)
    failed : array of whole numbers, shape (c, r), or (r,) where there is one cause
    withdrawn : array, shape (r,)
    corrected : array of the shape of `failed`, optional
        Failures divided by their capture share; equal to `failed` where left out.
    """

    clock: ArrayLike
    entered: ArrayLike
    failed: ArrayLike
    withdrawn: ArrayLike
    corrected: ArrayLike | None = None


@dataclass(frozen=True, slots=True, eq=False)
class CheckedLives:
    """Lives that keep the rules of `LivesArrays`, shape (n,) each; None where left out.

    Whole numbers of four or eight bytes: a column of a million lives is not copied to be read.
    """

    entry: WholeArray
    exit: WholeArray
    cause: WholeArray
    weight: IntArray | None
    capture: FloatArray | None

    @property
    def lives(self) -> int:
        """How many lives these are, each by its weight."""
        return self.entry.size if self.weight is None else int(self.weight.sum())

    def weighed(self, some: slice, chosen: IntArray | None = None) -> IntArray:
        """Weights of some, or of those chosen among them; a single 1 where each counts once."""
        if self.weight is None:
            return np.ones((), np.int64)
        return self.weight[some] if chosen is None else self.weight[some].take(chosen)

    def places(self) -> "LifePlaces":
        """Where entries and exits stand among ascending clock values."""
        entry, exit_ = self.entry, self.exit
        low, high = (int(entry.min()), int(exit_.max())) if entry.size else (0, -1)
        if high - low < DENSE_VALUES_PER_ROW * 2 * entry.size:
            if low != 0:
                entry, exit_ = entry.astype(np.int64) - low, exit_.astype(np.int64) - low
            return LifePlaces(entry, exit_, high - low + 1, low, None)
        clock, place = placed(np.concatenate([entry, exit_]).astype(np.int64, copy=False))
        return LifePlaces(place[: entry.size], place[entry.size :], len(clock), 0, clock)


@dataclass(frozen=True, slots=True, eq=False)
class LifePlaces:
    """Places of entries and exits, shape (n,), among `rows` ascending clock values.

    The values themselves are `clock`, or where that is None all whole numbers from `low` on.
    """

    begin: WholeArray
    end: WholeArray
    rows: int
    low: int
    clock: IntArray | None

    def values(self, kept: IntArray) -> IntArray:
        """Clock values at these places."""
        return kept + self.low if self.clock is None else self.clock.take(kept)


def checked_lives(lives: LivesArrays, cause_count: int | None = None) -> CheckedLives:
    """Lives as numbers; the first that breaks a rule is named. Any causes where none are set."""
    entry, exit_ = whole_as_given("entry", lives.entry), whole_as_given("exit", lives.exit)
    cause = whole_as_given("cause", lives.cause)
    weight = None if lives.weight is None else whole_numbers("weight", lives.weight)
    capture = None if lives.capture is None else np.asarray(lives.capture, np.float64)
    for name, values in (
        ("entry", entry),
        ("exit", exit_),
        ("cause", cause),
        ("weight", weight),
        ("capture", capture),
    ):
        if values is not None:
            refuse_shape(name, values, (len(entry),))
    # One pass where all is well; only then is it asked which rule is broken.
    if np.any(exit_ <= entry):
        refuse_first(exit_ < entry, "a life leaves no earlier than it enters", entry, exit_)
        refuse_first((exit_ == entry) & (cause > 0), _NO_WATCHED_TIME, entry, exit_)
    _refuse_outside(entry, (FROM_THE_START, None), "a life enters at -1 or later", exit_)
    known = "a cause is 0 (withdrawn) or a number from 1"
    if cause_count is not None:
        known = f"a cause is 0 (withdrawn) to {cause_count}"
    _refuse_outside(cause, (0, cause_count), known)
    if weight is not None:
        _refuse_outside(weight, (0, None), "a weight is a count of lives, 0 or more")
    if capture is not None:
        outside = ~((capture > 0) & (capture <= 1))
        refuse_first(outside, "a capture share lies in (0, 1]", capture)
    return CheckedLives(entry, exit_, cause, weight, capture)


_NO_WATCHED_TIME = (
    "a life that fails where it enters has no watched time; leave it out, or let it enter at "
    "-1 where failures at clock 0 count"
)


def whole_numbers(name: str, values: ArrayLike) -> IntArray:
    """Values as int64, copied; a value that is not whole is refused with its place."""
    return whole_as_given(name, values).astype(np.int64)


def whole_as_given(name: str, values: ArrayLike) -> WholeArray:
    """The same, not copied where the values are whole numbers of four or eight bytes already."""
    given = np.asarray(values)
    if given.size and given.dtype.kind not in "iub":
        given = given.astype(np.float64)
        bad = ~np.isfinite(given) | (given != np.floor(given))
        if np.any(bad):
            index = np.argwhere(bad)[0].tolist()
            raise ValueError(
                f"`{name}` holds whole numbers; got {given[tuple(index)]} at index {index[-1]}. "
                "Choose a finer clock unit and round."
            )
    return given if given.dtype in (np.int32, np.int64) else given.astype(np.int64)


def _refuse_outside(
    values: WholeArray, ends: tuple[int, int | None], rule: str, *came: NDArray[Any]
) -> None:
    """Refuse the first value below or above the ends, with what came beside it."""
    least, most = ends
    if not values.size or _lie_within(values, least, most):
        return
    outside = values < least
    if most is not None:
        outside |= values > most
    refuse_first(outside, rule, values, *came)


def _lie_within(values: WholeArray, least: int, most: int | None) -> bool:
    if least == 0 and most is not None:
        # Read without their sign those below 0 are the largest: one pass in place of two.
        return bool(values.view(f"u{values.itemsize}").max() <= most)
    return bool(values.min() >= least) and (most is None or bool(values.max() <= most))


def refuse_shape(name: str, values: NDArray[Any], shape: tuple[int, ...]) -> None:
    """Refuse an array that does not match the others it was given with."""
    if values.shape != shape:
        raise ValueError(f"`{name}` must have shape {shape}; got {values.shape}")


def refuse_first(bad: NDArray[np.bool_], rule: str, *came: NDArray[Any]) -> None:
    """Refuse the first value that breaks a rule, with what came and its place."""
    if np.any(bad):
        index = int(np.argmax(bad))
        values = ", ".join(str(each[index]) for each in came)
        raise ValueError(f"{rule}; got {values} at index {index}")

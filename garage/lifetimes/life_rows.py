"""Lives and counted rows as they are handed in, checked before they become a table."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import busy_rows, counted, placed, summed_whole

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
    """Lives that keep the rules of `LivesArrays`, shape (n,) each; None where left out."""

    entry: IntArray
    exit: IntArray
    cause: IntArray
    weight: IntArray | None
    capture: FloatArray | None


def checked_lives(lives: LivesArrays, cause_count: int | None = None) -> CheckedLives:
    """Lives as numbers; the first that breaks a rule is named. Any causes where none are set."""
    entry, exit_ = whole_numbers("entry", lives.entry), whole_numbers("exit", lives.exit)
    cause = whole_numbers("cause", lives.cause)
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
    refuse_first(exit_ < entry, "a life leaves no earlier than it enters", entry, exit_)
    refuse_first((exit_ == entry) & (cause > 0), _NO_WATCHED_TIME, entry, exit_)
    refuse_first(entry < FROM_THE_START, "a life enters at -1 or later", entry, exit_)
    known, outside = "a cause is 0 (withdrawn) or a number from 1", cause < 0
    if cause_count is not None:
        known, outside = (
            f"a cause is 0 (withdrawn) to {cause_count}",
            outside | (cause > cause_count),
        )
    refuse_first(outside, known, cause)
    if weight is not None:
        refuse_first(weight < 0, "a weight is a count of lives, 0 or more", weight)
    if capture is not None:
        outside = ~((capture > 0) & (capture <= 1))
        refuse_first(outside, "a capture share lies in (0, 1]", capture)
    return CheckedLives(entry, exit_, cause, weight, capture)


def rows_of_lives(lives: LivesArrays, cause_count: int) -> RiskRows:
    """Count checked lives by clock value; the first life that breaks a rule is named."""
    life = checked_lives(lives, cause_count)
    entry, weight = life.entry, life.weight
    clock, place = placed(np.concatenate([entry, life.exit]))
    at_entry, at_exit = place[: len(entry)], place[len(entry) :]
    rows, ends = len(clock), life.cause * len(clock) + at_exit
    entered, left = (
        counted(each, size) if weight is None else summed_whole(weight, each, size)
        for each, size in ((at_entry, rows), (ends, rows * (cause_count + 1)))
    )
    left = left.reshape(cause_count + 1, rows)
    corrected = _corrected(weight, life.capture, ends, left)
    busy = busy_rows(entered, left)
    return RiskRows(
        clock[busy],
        entered[busy],
        left[1:, busy],
        left[0, busy].astype(np.float64),
        None if corrected is None else corrected[:, busy],
    )


def _corrected(
    weight: IntArray | None, capture: FloatArray | None, ends: IntArray, left: IntArray
) -> FloatArray | None:
    """Failures divided by their capture share, by cause and row; None where all are seen."""
    if capture is None:
        return None
    each = (1.0 if weight is None else weight) / capture
    summed: FloatArray = np.asarray(np.bincount(ends, each, left.size), np.float64)
    return summed.reshape(left.shape)[1:]


_NO_WATCHED_TIME = (
    "a life that fails where it enters has no watched time; leave it out, or let it enter at "
    "-1 where failures at clock 0 count"
)


def whole_numbers(name: str, values: ArrayLike) -> IntArray:
    """Values as int64; a value that is not whole is refused with its place."""
    given = np.asarray(values)
    if given.size == 0:
        return given.astype(np.int64)
    if given.dtype.kind not in "iub":
        given = given.astype(np.float64)
        bad = ~np.isfinite(given) | (given != np.floor(given))
        if np.any(bad):
            index = np.argwhere(bad)[0].tolist()
            raise ValueError(
                f"`{name}` holds whole numbers; got {given[tuple(index)]} at index {index[-1]}. "
                "Choose a finer clock unit and round."
            )
    return given.astype(np.int64)


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

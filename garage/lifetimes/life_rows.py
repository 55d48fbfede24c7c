"""Lives and counted rows as they are handed in, checked before they become a table."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import IntArray

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


def rows_of_lives(lives: LivesArrays, cause_count: int) -> RiskRows:
    """Count checked lives by clock value; the first life that breaks a rule is named."""
    entry, exit_ = whole_numbers("entry", lives.entry), whole_numbers("exit", lives.exit)
    cause = whole_numbers("cause", lives.cause)
    count = len(entry)
    weight = whole_numbers("weight", np.ones(count) if lives.weight is None else lives.weight)
    capture = np.asarray(np.ones(count) if lives.capture is None else lives.capture, np.float64)
    for name, values in (
        ("exit", exit_),
        ("cause", cause),
        ("weight", weight),
        ("capture", capture),
    ):
        refuse_shape(name, values, (count,))
    _refuse_first(exit_ < entry, "a life leaves no earlier than it enters", entry, exit_)
    _refuse_first((exit_ == entry) & (cause > 0), _NO_WATCHED_TIME, entry, exit_)
    _refuse_first(entry < FROM_THE_START, "a life enters at -1 or later", entry, exit_)
    _refuse_first(
        (cause < 0) | (cause > cause_count),
        f"a cause is 0 (withdrawn) to {cause_count}",
        cause,
    )
    _refuse_first(weight < 0, "a weight is a count of lives, 0 or more", weight)
    _refuse_first(~((capture > 0) & (capture <= 1)), "a capture share lies in (0, 1]", capture)
    clock, place = np.unique(np.concatenate([entry, exit_]), return_inverse=True)
    at_entry, at_exit = place[:count], place[count:]
    failed = np.zeros((cause_count, len(clock)), np.int64)
    corrected = np.zeros((cause_count, len(clock)))
    for number in range(cause_count):
        mine = cause == number + 1
        np.add.at(failed[number], at_exit[mine], weight[mine])
        np.add.at(corrected[number], at_exit[mine], weight[mine] / capture[mine])
    entered = np.zeros(len(clock), np.int64)
    np.add.at(entered, at_entry, weight)
    withdrawn = np.zeros(len(clock))
    np.add.at(withdrawn, at_exit[cause == 0], weight[cause == 0])
    return RiskRows(clock, entered, failed, withdrawn, corrected)


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


def _refuse_first(bad: NDArray[np.bool_], rule: str, *came: NDArray[Any]) -> None:
    if np.any(bad):
        index = int(np.argmax(bad))
        values = ", ".join(str(each[index]) for each in came)
        raise ValueError(f"{rule}; got {values} at index {index}")

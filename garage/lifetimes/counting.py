"""Sums by clock value, without sorting where the clock is short against the count."""

from collections.abc import Iterator
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray

Number = TypeVar("Number", np.int64, np.float64)

DENSE_VALUES_PER_ROW = 4
"""Clock values a row up to which a place for every value is cheaper than sorting the rows.
Judgement, measured on 10**5 to 5 * 10**6 lives; both ways give the same sums."""

LARGEST_COUNT = 2**53
"""Lives; beyond it float64 no longer holds every whole number."""


def placed(clock: IntArray) -> tuple[IntArray, IntArray]:
    """Ascending clock values, and the place of each given one among them.

    Values that were not given may stand between them where that saves sorting.

    Examples
    --------
    >>> values, place = placed(np.array([7, 5, 7]))
    >>> values[place].tolist()
    [7, 5, 7]
    """
    if clock.size == 0:
        return clock, clock
    low, high = int(clock.min()), int(clock.max())
    if high - low < DENSE_VALUES_PER_ROW * clock.size:
        return np.arange(low, high + 1), clock - low
    values, place = np.unique(clock, return_inverse=True)
    return values, place


def blocks(first: int, end: int, most: int) -> Iterator[slice]:
    """Slices that cover the places from `first` to below `end` in order, each `most` at most.

    What is worked on in between stays in the processor's cache, and its memory, which the system
    gives out slowly when it is new, is used again by the next.

    Examples
    --------
    >>> [(some.start, some.stop) for some in blocks(0, 5, 2)]
    [(0, 2), (2, 4), (4, 5)]
    """
    for start in range(first, end, most):
        yield slice(start, min(start + most, end))


def refuse_too_many(values: IntArray) -> None:
    """Refuse counts whose sum float64 might not hold."""
    if float(np.abs(values).sum(dtype=np.float64)) >= LARGEST_COUNT:
        raise ValueError(
            f"a table counts fewer than {LARGEST_COUNT} lives, so that all its sums are exact; "
            "give counts of lives"
        )


def summed_whole(values: IntArray, place: IntArray | None, rows: int) -> IntArray:
    """Whole numbers summed by place; a place of None says that each row has its own."""
    refuse_too_many(values)
    if place is None:
        return values.copy()
    return np.bincount(place, values, rows).astype(np.int64)


def summed_parts(values: FloatArray, place: IntArray | None, rows: int, dust: float) -> FloatArray:
    """Fractions summed as by `summed_whole`, in the order given; nearer to 0 than `dust` is 0.

    A difference of equal fractional sums leaves dust, which is no life.
    """
    summed = values if place is None else np.bincount(place, values, rows)
    total: FloatArray = np.array(summed, np.float64)
    total[np.abs(total) < dust] = 0
    return total


def busy_rows(*counts: NDArray[Any]) -> BoolArray:
    """Rows in which any of the counts, of shape (r,) or (c, r), is not 0."""
    busy = np.zeros(counts[0].shape[-1], bool)
    for each in counts:
        for row in np.atleast_2d(each):
            busy |= row != 0
    return busy


def over_causes(counts: NDArray[Number]) -> NDArray[Number]:
    """Counts of shape (c, r) added up over the causes; those of a single cause as they are.

    Not to be written to: it may be the row itself.
    """
    total: NDArray[Number] = counts[0] if len(counts) == 1 else counts.sum(axis=0)
    return total

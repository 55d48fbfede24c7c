"""Counts lives one by one into the columns of a risk table."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from garage.lifetimes.arrays import FloatArray, IntArray, WholeArray
from garage.lifetimes.counting import blocks, busy_rows, refuse_too_many
from garage.lifetimes.life_rows import LifePlaces, LivesArrays, checked_lives

LIVES_AT_A_TIME = 2**16
"""Lives whose places, 512 kB, are worked out before they are counted. Judgement, measured on a
million lives: the quickest of 2**12 to 2**20; fewer cost calls, more cost new memory."""

ROWS_AT_A_TIME = 2**16
"""Rows of a table written at a time. Judgement, measured as above."""


@dataclass(frozen=True, slots=True, eq=False)
class CountedLives:
    """Checked lives by clock value.

    Attributes
    ----------
    places : LifePlaces
        Of each life among the r clock values; nothing may have happened at some.
    entered : array of whole numbers, shape (r,)
    left : array of whole numbers, shape (1 + c, r)
        Withdrawn first, then the failures of each cause.
    corrected : array, shape (c, r), or None
        None where every failure is seen.
    """

    places: LifePlaces
    entered: WholeArray
    left: WholeArray
    corrected: FloatArray | None

    def columns(self) -> dict[str, NDArray[Any]]:
        """Columns of a `RiskTable` where every failure is seen: rows where anything happened."""
        busy = busy_rows(self.entered, self.left)
        rows, causes = int(np.count_nonzero(busy)), len(self.left) - 1
        # One block rather than a column each: the system gives out a large one far quicker.
        block = np.empty((4 + 2 * causes) * rows + 1, np.int64)
        whole = block[: (2 + causes) * rows].reshape(2 + causes, rows)
        fractions = block[(2 + causes) * rows :].view(np.float64)
        parts, held = fractions[: -rows - 1].reshape(1 + causes, rows), fractions[-rows - 1 :]
        held[0] = at_risk = written = 0
        for some in blocks(0, len(busy), ROWS_AT_A_TIME):
            here = np.flatnonzero(busy[some])
            to = slice(written, written + len(here))
            entered, left = self.entered[some].take(here), self.left[:, some].take(here, axis=1)
            here += some.start
            whole[0, to], whole[1, to] = self.places.values(here), entered
            whole[2:, to] = left[1:]
            parts[:, to] = left
            # Whole numbers add up many times as fast as fractions.
            change = entered.astype(np.int64)
            for each in left:
                change -= each
            change[:1] += at_risk
            held[1:][to] = np.cumsum(change, out=change)
            written += len(here)
            at_risk = int(held[written])
        return {
            "clock": whole[0],
            "entered": whole[1],
            "failed": whole[2:],
            "corrected": parts[1:],
            "withdrawn": parts[0],
            "_held": held,
        }


def counted_lives(lives: LivesArrays, cause_count: int) -> CountedLives:
    """Count lives by clock value; the first that breaks a rule is named."""
    life = checked_lives(lives, cause_count)
    places, n = life.places(), life.entry.size
    # Counts of half the width, where they hold all lives, stay in a cache of half the size.
    narrow = life.weight is None and n <= np.iinfo(np.int32).max
    if life.weight is not None:
        refuse_too_many(life.weight)
    # In one block: the system gives out a large one, and finds its way in it, far quicker.
    counts = np.zeros((2 + cause_count, places.rows), np.int32 if narrow else np.int64)
    one = counts.dtype.type(1)
    entered, left = counts[0], counts[1:].reshape(-1)
    corrected = None if life.capture is None else np.zeros(left.size)
    for some in blocks(0, n, LIVES_AT_A_TIME):
        begin, weight = places.begin[some], None if life.weight is None else life.weight[some]
        # Adding to one and the same count over and over is slow, and most enter at the lowest
        # place: those are what the others leave.
        late = np.flatnonzero(begin != 0)
        many = one if weight is None else weight.take(late)
        np.add.at(entered, begin.take(late).astype(np.intp), many)
        # Withdrawals and each cause side by side, so that one pass counts all.
        cell = _cells(life.cause[some], places.end[some], counts[1:].shape)
        np.add.at(left, cell, one if weight is None else weight)
        if corrected is not None and life.capture is not None:
            np.add.at(corrected, cell, (1.0 if weight is None else weight) / life.capture[some])
    if places.rows:
        entered[0] = left.sum(dtype=np.int64) - entered.sum(dtype=np.int64)
    if corrected is not None:
        corrected = corrected.reshape(1 + cause_count, places.rows)[1:]
    return CountedLives(places, entered, counts[1:], corrected)


def _cells(cause: WholeArray, place: WholeArray, shape: tuple[int, ...]) -> IntArray:
    """Where these causes and places stand in a table of this shape, row by row."""
    rows, columns = shape
    # Worked out in half the width where that holds them, and widened once.
    narrow = cause.dtype == place.dtype == np.int32 and rows * columns <= np.iinfo(np.int32).max
    cell = np.multiply(cause, columns, dtype=np.int32 if narrow else np.int64)
    cell += place
    return cell.astype(np.intp, copy=False)

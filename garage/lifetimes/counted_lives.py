"""Counts lives one by one into the columns of a risk table."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray, WholeArray
from garage.lifetimes.counting import blocks, busy_rows
from garage.lifetimes.entries_and_exits import CountRows, entries_and_exits
from garage.lifetimes.life_rows import LifePlaces, LivesArrays, checked_lives

ROWS_AT_A_TIME = 2**16
"""Rows of a table written at a time. Judgement, measured on a million lives."""


@dataclass(frozen=True, slots=True, eq=False)
class CountedLives:
    """Checked lives by clock value.

    Attributes
    ----------
    places : LifePlaces
        Of each life among the r clock values; nothing may have happened at some.
    first : int
        Lives that enter at the lowest clock value.
    late : array of whole numbers, shape (r,)
        Lives that enter later.
    left : array of whole numbers, shape (1 + c, r)
        Withdrawn first, then the failures of each cause.
    corrected : array, shape (c, r), or None
        None where every failure is seen.
    """

    places: LifePlaces
    first: int
    late: WholeArray
    left: WholeArray
    corrected: FloatArray | None

    @property
    def entered(self) -> IntArray:
        """Lives that enter at each clock value."""
        entered = self.late.astype(np.int64)
        entered[:1] += self.first
        return entered

    def columns(self) -> dict[str, Any]:
        """Columns of a `RiskTable` where every failure is seen: rows where anything happened."""
        busy = busy_rows(self.late, self.left)
        busy[:1] |= self.first > 0
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
            late, left = self.late[some].take(here), self.left[:, some].take(here, axis=1)
            here += some.start
            whole[0, to], whole[1, to] = self.places.values(here), late
            if self.first and not written:
                whole[1, 0] = self.first
            whole[2:, to] = left[1:]
            parts[:, to] = left
            # Whole numbers add up many times as fast as fractions.
            change = whole[1, to] - left[0]
            for failed in whole[2:, to]:
                change -= failed
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
            "_all_seen": True,
        }


def counted_lives(lives: LivesArrays, cause_count: int) -> CountedLives:
    """Count lives by clock value; the first that breaks a rule is named."""
    life = checked_lives(lives, cause_count)
    places, by_cause = life.places(), CountRows(1 + cause_count, life.cause.__getitem__)
    counts = entries_and_exits(life, places, exits=by_cause, entries=CountRows())
    corrected = None
    if life.capture is not None:
        failing = np.flatnonzero(life.cause > 0)
        each = life.weighed(slice(None), failing) / life.capture.take(failing)
        corrected = np.zeros((cause_count, places.rows))
        np.add.at(corrected, (life.cause.take(failing) - 1, places.end.take(failing)), each)
    first = life.lives - int(counts.all_late[0])
    return CountedLives(places, first, counts.late[0], counts.left, corrected)

"""Failures and numbers at risk of several groups at every clock value where any of them failed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import counted, placed, summed_whole
from garage.lifetimes.life_rows import (
    LivesArrays,
    checked_lives,
    refuse_shape,
    whole_as_given,
)
from garage.lifetimes.risk_table import COUNT_SLACK, RiskTable


@dataclass(frozen=True, slots=True, eq=False)
class GroupSteps:
    """k groups on one clock, counted together; all causes count as failures.

    Attributes
    ----------
    n : array of int64, shape (k,)
        Lives that came under watch in each group.
    corrected : array, shape (k,)
        Failures of each group divided by their capture share.
    clock : array of int64, shape (m,)
        Clock values at which any group had a failure, ascending.
    at_risk, failed : arrays, shape (k, m)
        Numbers at risk just before, and failures seen.

    Notes
    -----
    Memory grows as groups times clock values; meant for tens of groups, not thousands.
    """

    n: IntArray
    corrected: FloatArray
    clock: IntArray
    at_risk: FloatArray
    failed: FloatArray

    @classmethod
    def from_tables(cls, groups: Sequence[RiskTable]) -> Self:
        """Bring tables on one clock; nothing here depends on the number of lives."""
        clock, place = placed(np.concatenate([table.clock for table in groups]))
        rows = np.split(place, np.cumsum([len(table.clock) for table in groups])[:-1])
        failed = np.zeros((len(groups), len(clock)))
        for each, mine, table in zip(failed, rows, groups, strict=True):
            each[mine] = table.failed.sum(axis=0)
        kept = np.flatnonzero(np.any(failed, axis=0))
        at_risk = np.empty((len(groups), len(kept)))
        for each, mine, table in zip(at_risk, rows, groups, strict=True):
            # How many of the table's own rows lie below each clock value.
            below = np.zeros(len(clock) + 1, np.int64)
            below[mine + 1] = 1
            each[:] = _at_risk_by_row(table).take(np.cumsum(below).take(kept))
        return cls(
            np.array([table.n for table in groups], np.int64),
            np.array([table.corrected.sum() for table in groups], np.float64),
            clock[kept],
            at_risk,
            np.take(failed, kept, axis=1),
        )

    @classmethod
    def from_lives(cls, lives: LivesArrays, group: ArrayLike) -> Self:
        """Count lives straight into their groups, numbered from 0, without tables between.

        Examples
        --------
        >>> lives = LivesArrays(entry=[0, 0, 2], exit=[3, 5, 5], cause=[1, 0, 1])
        >>> steps = GroupSteps.from_lives(lives, [0, 1, 1])
        >>> steps.clock.tolist(), steps.at_risk.tolist(), steps.failed.tolist()
        ([3, 5], [[1.0, 0.0], [2.0, 2.0]], [[1.0, 0.0], [0.0, 1.0]])
        """
        life = checked_lives(lives)
        number = whole_as_given("group", group)
        refuse_shape("group", number, life.entry.shape)
        if number.size and number.min() < 0:
            raise ValueError(f"groups are numbered from 0; got {number.min()}")
        count = int(number.max()) + 1 if number.size else 0
        places = life.places()
        rows, weight = places.rows, life.weight
        cells = count * rows
        # Failures lie behind withdrawals, so that one pass counts both.
        cell = np.greater(life.cause, 0).astype(np.int64)
        cell *= count
        cell += number
        cell *= rows
        cell += places.end
        left, failed = _summed(weight, cell, 2 * cells).reshape(2, count, rows)
        n = left.sum(axis=1) + failed.sum(axis=1)
        # Most enter at the lowest place, and adding to one and the same count over and over is
        # slow: those are what the others leave.
        late = np.flatnonzero(places.begin != 0)
        cell = number.take(late) * np.int64(rows) + places.begin.take(late)
        change = _summed(None if weight is None else weight.take(late), cell, cells)
        change = change.reshape(count, rows)
        if rows:
            change[:, 0] = n - change.sum(axis=1)
        corrected = failed.sum(axis=1).astype(np.float64)
        if life.capture is not None:
            failing = np.flatnonzero(life.cause > 0)
            each = (1 if weight is None else weight.take(failing)) / life.capture.take(failing)
            corrected = np.bincount(number.take(failing), each, count)
        kept = np.flatnonzero(np.any(failed > 0, axis=0))
        change -= left
        change -= failed
        after = np.cumsum(change, axis=1, out=change)
        # In one block, which the system gives out far quicker than many smaller ones.
        steps = np.empty((2, count, len(kept)))
        # Nobody fails at the first clock value, for lives are at risk after their entry.
        before = kept - 1
        for row in range(count):
            steps[0, row] = after[row].take(before)
            steps[1, row] = failed[row].take(kept)
        return cls(n, corrected, places.values(kept), *steps)

    @property
    def failed_total(self) -> IntArray:
        """Failures seen in each group, shape (k,)."""
        return np.asarray(self.failed.sum(axis=1), np.int64)


def _at_risk_by_row(table: RiskTable) -> FloatArray:
    """Numbers at risk just before each row of a table, and after its last."""
    at_risk = table.at_risk
    if not len(at_risk):
        return np.zeros(1)
    gone = table.failed[:, -1].sum() + table.withdrawn[-1]
    left = float(at_risk[-1] + table.entered[-1] - gone)
    return np.append(at_risk, left if left > COUNT_SLACK else 0.0)


def _summed(weight: IntArray | None, cell: IntArray, cells: int) -> IntArray:
    return counted(cell, cells) if weight is None else summed_whole(weight, cell, cells)

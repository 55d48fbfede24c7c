"""Failures and numbers at risk of several groups at every clock value where any of them failed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import DENSE_VALUES_PER_ROW, counted, placed, summed_whole
from garage.lifetimes.life_rows import (
    CheckedLives,
    LivesArrays,
    checked_lives,
    refuse_shape,
    whole_numbers,
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
        change = np.zeros((len(groups), len(clock)))
        failed = np.zeros((len(groups), len(clock)))
        begin = 0
        for number, table in enumerate(groups):
            rows = place[begin : begin + len(table.clock)]
            begin += len(table.clock)
            gone = table.failed.sum(axis=0)
            failed[number, rows] = gone
            change[number, rows] = table.entered - gone - table.withdrawn
        return cls._counted(
            np.array([table.n for table in groups], np.int64),
            np.array([table.corrected.sum() for table in groups], np.float64),
            (clock, change, failed),
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
        number = whole_numbers("group", group)
        refuse_shape("group", number, life.entry.shape)
        if number.size and number.min() < 0:
            raise ValueError(f"groups are numbered from 0; got {number.min()}")
        count = int(number.max()) + 1 if number.size else 0
        clock, begin, end = _cells(life, number)
        rows = len(clock)
        failing = (life.cause > 0).astype(np.float64)
        if life.weight is not None:
            failing *= life.weight
        entered, left = (
            counted(each, count * rows)
            if life.weight is None
            else summed_whole(life.weight, each, count * rows)
            for each in (begin, end)
        )
        # As a sum of noughts and ones: cheaper than to pick out those that failed.
        failed: FloatArray = np.asarray(np.bincount(end, failing, count * rows), np.float64)
        failed = failed.reshape(count, rows)
        if life.capture is None:
            corrected = failed.sum(axis=1)
        else:
            corrected = np.bincount(number, failing / life.capture, count)
        n = entered.reshape(count, rows).sum(axis=1)
        entered -= left
        return cls._counted(n, corrected, (clock, entered.reshape(count, rows), failed))

    @classmethod
    def _counted(
        cls,
        n: IntArray,
        corrected: FloatArray,
        rows: tuple[IntArray, FloatArray | IntArray, FloatArray],
    ) -> Self:
        clock, change, failed = rows
        kept = np.flatnonzero(np.any(failed, axis=0))
        after = np.cumsum(change, axis=1, out=change)
        # Nobody fails at the first clock value, for lives are at risk after their entry.
        at_risk = np.take(after, kept - 1, axis=1).astype(np.float64)
        at_risk[np.abs(at_risk) < COUNT_SLACK] = 0.0
        return cls(n, corrected, clock[kept], at_risk, np.take(failed, kept, axis=1))

    @property
    def failed_total(self) -> IntArray:
        """Failures seen in each group, shape (k,)."""
        return np.asarray(self.failed.sum(axis=1), np.int64)


def _cells(life: CheckedLives, number: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Ascending clock values; cells of entries and exits, numbered group by group along them."""
    low, high = (int(life.entry.min()), int(life.exit.max())) if number.size else (0, -1)
    rows = high - low + 1
    if rows <= DENSE_VALUES_PER_ROW * number.size:
        # In place: at a million lives a further array costs as much as counting it.
        end = number * rows
        end -= low
        begin = end + life.entry
        end += life.exit
        return np.arange(low, high + 1), begin, end
    clock, place = placed(np.concatenate([life.entry, life.exit]))
    base = number * len(clock)
    return clock, base + place[: len(number)], base + place[len(number) :]

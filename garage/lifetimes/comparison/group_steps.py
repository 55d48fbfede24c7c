"""Failures and numbers at risk of several groups at every clock value where any of them failed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import FloatArray, IntArray, WholeArray
from garage.lifetimes.counting import blocks, busy_rows, placed
from garage.lifetimes.entries_and_exits import CountRows, EntriesAndExits, entries_and_exits
from garage.lifetimes.life_rows import (
    LifePlaces,
    LivesArrays,
    checked_lives,
    refuse_shape,
    whole_as_given,
)
from garage.lifetimes.risk_table import COUNT_SLACK, RiskTable

PLACES_AT_A_TIME = 2**16
"""Clock values walked through at a time. Judgement, measured on a million lives."""


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
        Numbers at risk just before, and failures seen; whole numbers where lives were counted.

    Notes
    -----
    Memory grows as groups times clock values; meant for tens of groups, not thousands.
    """

    n: IntArray
    corrected: FloatArray
    clock: IntArray
    at_risk: NDArray[Any]
    failed: NDArray[Any]

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
        ([3, 5], [[1, 0], [2, 2]], [[1, 0], [0, 1]])
        """
        life = checked_lives(lives)
        number = whole_as_given("group", group)
        refuse_shape("group", number, life.entry.shape)
        if number.size and number.min() < 0:
            raise ValueError(f"groups are numbered from 0; got {number.min()}")
        count = int(number.max()) + 1 if number.size else 0
        places = life.places()

        def exit_row(some: slice) -> WholeArray:
            # Failures lie behind withdrawals.
            row = np.multiply(life.cause[some] > 0, count, dtype=number.dtype)
            row += number[some]
            return row

        counts = entries_and_exits(
            life,
            places,
            exits=CountRows(2 * count, exit_row),
            entries=CountRows(count, number.__getitem__),
        )
        n = counts.all_left[:count] + counts.all_left[count:]
        corrected: FloatArray = counts.all_left[count:].astype(np.float64)
        if life.capture is not None:
            failing = np.flatnonzero(life.cause > 0)
            each = life.weighed(slice(None), failing) / life.capture.take(failing)
            corrected = np.asarray(np.bincount(number.take(failing), each, count), np.float64)
        return cls(n, corrected, *_walked(counts, n, places))

    @property
    def all_at_risk(self) -> FloatArray:
        """Numbers at risk over all groups, shape (m,)."""
        return np.asarray(self.at_risk.sum(axis=0), np.float64)

    @property
    def all_failed(self) -> FloatArray:
        """Failures seen over all groups, shape (m,)."""
        return np.asarray(self.failed.sum(axis=0), np.float64)

    @property
    def failed_total(self) -> IntArray:
        """Failures seen in each group, shape (k,)."""
        return np.asarray(self.failed.sum(axis=1), np.int64)


def _walked(
    counts: EntriesAndExits, n: IntArray, places: LifePlaces
) -> tuple[IntArray, WholeArray, WholeArray]:
    """Clock values with failures, numbers at risk and failures there, some places at a time."""
    groups = len(n)
    withdrawn, failed = counts.left[:groups], counts.left[groups:]
    failing = busy_rows(failed)
    kept = int(np.count_nonzero(failing))
    # Of half the width where that holds all lives: what a call needs at its peak, a process
    # keeps between calls only up to twice its largest block.
    whole = np.int32 if n.sum() <= np.iinfo(np.int32).max else np.int64
    clock, at_risk = np.empty(kept, np.int64), np.empty((groups, kept), whole)
    failures = np.empty((groups, kept), failed.dtype)
    # At the lowest place, where these enter, nobody fails: lives are at risk after their entry.
    held, written = n - counts.all_late, 0
    for some in blocks(0, places.rows, PLACES_AT_A_TIME):
        here = np.flatnonzero(failing[some])
        to = slice(written, written + len(here))
        before = np.empty(len(failing[some]) + 1, whole)
        for row in range(groups):
            before[0], change = held[row], before[1:]
            np.subtract(counts.late[row, some], withdrawn[row, some], out=change, dtype=whole)
            np.subtract(change, failed[row, some], out=change)
            np.cumsum(before, out=before)
            held[row] = before[-1]
            at_risk[row, to], failures[row, to] = before.take(here), failed[row, some].take(here)
        here += some.start
        clock[to], written = places.values(here), to.stop
    return clock, at_risk, failures


def _at_risk_by_row(table: RiskTable) -> FloatArray:
    """Numbers at risk just before each row of a table, and after its last."""
    at_risk = table.at_risk
    if not len(at_risk):
        return np.zeros(1)
    gone = table.failed[:, -1].sum() + table.withdrawn[-1]
    left = float(at_risk[-1] + table.entered[-1] - gone)
    return np.append(at_risk, left if left > COUNT_SLACK else 0.0)

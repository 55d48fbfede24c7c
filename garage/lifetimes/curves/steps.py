"""The steps of a curve: failures, numbers at risk and hazards where failures happened."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import blocks, over_causes
from garage.lifetimes.risk_table import RiskTable

ROWS_AT_A_TIME = 2**16
"""Rows of a table whose steps are computed at a time. Judgement, measured on 316 000 rows: 2**14
and 2**15 are the quickest of 2**12 to 2**20; fewer cost calls, more cost new memory."""


@dataclass(frozen=True, slots=True, eq=False)
class CurveSteps:
    """What happened at each clock value with a failure, after `start`.

    Attributes
    ----------
    n, failed_total : int
        Lives watched after `start`, and failures among them.
    clock, at_risk : arrays, shape (f,)
    failed, corrected : arrays, shape (c, f)
        Failures seen, and divided by their capture share.
    hazard : array, shape (c, f)
        corrected / at risk; where the causes together would exceed 1 they are cut to it.
    """

    start: int
    n: int
    failed_total: int
    clock: IntArray
    at_risk: FloatArray
    failed: IntArray
    corrected: FloatArray
    hazard: FloatArray

    @classmethod
    def from_table(cls, table: RiskTable, start: int | None = None) -> Self:
        """Take the rows with failures; `start` drops what happened up to that clock value."""
        rows = rows_after(table, start)
        return cls._of_rows(table, rows, 0 if start is None else start, lives_after(table, start))

    @classmethod
    def parts(cls, table: RiskTable, start: int | None = None) -> Iterator[Self]:
        """The same steps in order, those of `ROWS_AT_A_TIME` rows at a time.

        `n` is that of the whole curve in each, `failed_total` that of the part.
        """
        rows, n = rows_after(table, start), lives_after(table, start)
        for some in blocks(rows.start, rows.stop, ROWS_AT_A_TIME):
            yield cls._of_rows(table, some, 0 if start is None else start, n)

    @classmethod
    def _of_rows(cls, table: RiskTable, rows: slice, start: int, n: int) -> Self:
        failed = table.failed[:, rows]
        # By place: many times as fast as by mask where most rows are kept.
        kept = np.flatnonzero(over_causes(failed) > 0)
        clock, at_risk = table.clock[rows].take(kept), table.at_risk[rows].take(kept)
        corrected = table.corrected[:, rows].take(kept, axis=1)
        hazard = corrected / at_risk
        # A capture share below 1 can ask for more failures than there were lives.
        asked = over_causes(hazard).max(initial=0.0)
        if asked > 1:
            hazard = hazard / np.maximum(hazard.sum(axis=0), 1.0)
        failed = failed.take(kept, axis=1)
        return cls(start, n, int(failed.sum()), clock, at_risk, failed, corrected, hazard)

    @property
    def total_hazard(self) -> FloatArray:
        """Chance of failing at each step from any cause, given at risk there."""
        return np.asarray(np.minimum(over_causes(self.hazard), 1.0), np.float64)

    @property
    def all_seen(self) -> bool:
        """Whether each failure counts once, for all are seen."""
        return bool(np.all(self.corrected == self.failed))

    @property
    def inverse_capture(self) -> FloatArray:
        """corrected / failed by cause and step; 1 where nothing failed."""
        return np.divide(
            self.corrected, self.failed, out=np.ones_like(self.corrected), where=self.failed > 0
        )


def rows_after(table: RiskTable, start: int | None) -> slice:
    """Rows of the table after this clock value; all where it is None."""
    first = 0 if start is None else int(np.searchsorted(table.clock, start, side="right"))
    return slice(first, len(table.clock))


def lives_after(table: RiskTable, start: int | None) -> int:
    """Lives watched after this clock value; all where it is None."""
    if start is None:
        return table.n
    carried = float(table.at_risk_at(start + 1))
    return int(np.floor(carried + 1e-9)) + int(table.entered[rows_after(table, start)].sum())

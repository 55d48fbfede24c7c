"""The steps of a curve: failures, numbers at risk and hazards where failures happened."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import over_causes
from garage.lifetimes.risk_table import RiskTable


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
        begin = 0 if start is None else start
        failing = over_causes(table.failed) > 0
        if start is not None:
            failing &= table.clock > begin
        # By place: many times as fast as by mask where most rows are kept.
        kept = np.flatnonzero(failing)
        clock, at_risk = table.clock.take(kept), table.at_risk.take(kept)
        corrected = table.corrected.take(kept, axis=1)
        hazard = corrected / at_risk
        # A capture share below 1 can ask for more failures than there were lives.
        asked = over_causes(hazard).max(initial=0.0)
        if asked > 1:
            hazard = hazard / np.maximum(hazard.sum(axis=0), 1.0)
        n = table.n if start is None else _lives_after(table, begin)
        failed = table.failed.take(kept, axis=1)
        return cls(begin, n, int(failed.sum()), clock, at_risk, failed, corrected, hazard)

    @property
    def total_hazard(self) -> FloatArray:
        """Chance of failing at each step from any cause, given at risk there."""
        return np.asarray(np.minimum(over_causes(self.hazard), 1.0), np.float64)

    @property
    def inverse_capture(self) -> FloatArray:
        """corrected / failed by cause and step; 1 where nothing failed."""
        return np.divide(
            self.corrected, self.failed, out=np.ones_like(self.corrected), where=self.failed > 0
        )


def _lives_after(table: RiskTable, start: int) -> int:
    carried = float(table.at_risk_at(start + 1))
    return int(np.floor(carried + 1e-9)) + int(table.entered[table.clock > start].sum())

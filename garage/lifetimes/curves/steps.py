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
    total_hazard : array, shape (f,)
        Chance of failing at each step from any cause, given at risk there.
    all_seen : bool
        Whether each failure counts once, for all come to be seen.
    """

    n: int
    failed_total: int
    clock: IntArray
    at_risk: FloatArray
    failed: IntArray
    corrected: FloatArray
    hazard: FloatArray
    total_hazard: FloatArray
    all_seen: bool

    @classmethod
    def from_table(cls, table: RiskTable, start: int | None = None) -> Self:
        """Take the rows with failures; `start` drops what happened up to that clock value."""
        places = failing_places(table, start)
        clock, at_risk = table.clock.take(places), table.at_risk.take(places)
        return cls.at_places(
            table, places, clock=clock, at_risk=at_risk, n=lives_after(table, start)
        )

    @classmethod
    def at_places(
        cls,
        table: RiskTable,
        places: IntArray,
        *,
        clock: IntArray,
        at_risk: FloatArray,
        n: int,
    ) -> Self:
        """The steps at some of the table's rows, whose clock and number at risk are known."""
        failed = table.failed.take(places, axis=1)
        if table.all_seen:
            corrected = failed.astype(np.float64)
        else:
            corrected = table.corrected.take(places, axis=1)
        hazard = corrected / at_risk
        total = over_causes(hazard)
        # A capture share below 1 can ask for more failures than there were lives.
        if total.max(initial=0.0) > 1:
            hazard = hazard / np.maximum(total, 1.0)
            total = np.minimum(over_causes(hazard), 1.0)
        return cls(
            n=n,
            failed_total=int(failed.sum()),
            clock=clock,
            at_risk=at_risk,
            failed=failed,
            corrected=corrected,
            hazard=hazard,
            total_hazard=total,
            all_seen=table.all_seen,
        )

    @property
    def inverse_capture(self) -> FloatArray:
        """corrected / failed by cause and step; 1 where nothing failed."""
        return np.divide(
            self.corrected, self.failed, out=np.ones_like(self.corrected), where=self.failed > 0
        )


def failing_places(table: RiskTable, start: int | None) -> IntArray:
    """Rows of the table with failures after this clock value."""
    rows = rows_after(table, start)
    # By place: many times as fast as by mask where most rows are kept.
    places = np.flatnonzero(over_causes(table.failed[:, rows]) > 0)
    places += rows.start
    return places


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

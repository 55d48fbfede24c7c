"""Carries a product-limit curve from failure to failure, some steps at a time."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import LimitsKind, share_limits
from garage.lifetimes.counting import blocks, over_causes
from garage.lifetimes.curves.steps import CurveSteps, failing_places, lives_after
from garage.lifetimes.risk_table import RiskTable

STEPS_AT_A_TIME = 2**15
"""Steps carried at a time. Judgement, measured on 172 000 steps: the quickest of 2**12 to 2**18;
fewer cost calls, more cost new memory."""


@dataclass(frozen=True, slots=True, eq=False)
class ProductSteps:
    """A curve just after each failure, shape (f,) each; see `SurvivalCurve`."""

    clock: IntArray
    at_risk: FloatArray
    survival: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray

    @classmethod
    def empty(cls, size: int) -> Self:
        """So many steps, still to be written."""
        # In one block: the system gives out a large one far quicker than several.
        block = np.empty((6, size))
        return cls(block[0].view(np.int64), *block[1:])

    def part(self, some: slice) -> Self:
        """These steps alone, written to in place."""
        return type(self)(
            self.clock[some],
            self.at_risk[some],
            self.survival[some],
            self.standard_error[some],
            self.lower[some],
            self.upper[some],
        )


def product_steps(
    table: RiskTable, start: int | None, *, level: float, limits: LimitsKind
) -> ProductSteps:
    """Survival with Greenwood's error and limits at every failure after `start`."""
    places = failing_places(table, start)
    curve = ProductSteps.empty(len(places))
    # Without a copy in between, which taking by place makes where it may have to refuse one.
    table.clock.take(places, out=curve.clock, mode="clip")
    table.at_risk.take(places, out=curve.at_risk, mode="clip")
    n, survival, variance = lives_after(table, start), 1.0, 0.0
    for some in blocks(0, len(places), STEPS_AT_A_TIME):
        part = curve.part(some)
        clock, at_risk = part.clock, part.at_risk
        steps = CurveSteps.at_places(table, places[some], clock=clock, at_risk=at_risk, n=n)
        survival, variance = _carried(part, steps, survival, variance)
        # The curve never rises, so what lies between 1 and 0 is one stretch.
        inside = slice(np.count_nonzero(part.survival >= 1), np.count_nonzero(part.survival > 0))
        for outside in (slice(inside.start), slice(inside.stop, None)):
            part.lower[outside], part.upper[outside] = 0, 1
        part.lower[inside], part.upper[inside] = share_limits(
            part.survival[inside], part.standard_error[inside], level=level, kind=limits
        )
    if survival <= 0:
        # Greenwood's sum has no value here: keep the last one that had.
        first = int(np.argmax(curve.survival <= 0))
        curve.upper[first:] = curve.upper[first - 1] if first else 1.0
        curve.standard_error[first:] = curve.standard_error[first - 1] if first else 0.0
    return curve


def _carried(
    part: ProductSteps, steps: CurveSteps, survival: float, variance: float
) -> tuple[float, float]:
    """Write the steps after this survival and variance of its logarithm; those at their end."""
    hazard = steps.total_hazard
    np.subtract(1, hazard, out=part.survival)
    part.survival[0] *= survival
    np.cumprod(part.survival, out=part.survival)
    summed = _greenwood_steps(steps, hazard)
    summed[0] += variance
    np.cumsum(summed, out=summed)
    np.sqrt(summed, out=part.standard_error)
    part.standard_error[:] *= part.survival
    return float(part.survival[-1]), float(summed[-1])


def variance_steps(table: RiskTable, start: int | None) -> FloatArray:
    """Variance that each step after `start` adds to log survival."""
    steps = CurveSteps.from_table(table, start)
    return _greenwood_steps(steps, steps.total_hazard)


def _greenwood_steps(steps: CurveSteps, hazard: FloatArray) -> FloatArray:
    """Variance that each step adds to log survival; 0 where nobody is left after it."""
    left = 1 - hazard
    left *= steps.at_risk
    if steps.all_seen:
        spread = hazard
    else:
        spread = _spread_of_seen(steps, hazard)
        left *= left
    ended = np.flatnonzero(hazard >= 1)
    left[ended] = np.inf
    return np.divide(spread, left, out=left)


def _spread_of_seen(steps: CurveSteps, hazard: FloatArray) -> FloatArray:
    """Variance of corrected less expected failures; hazard x those left where all are seen."""
    by_cause = steps.inverse_capture
    by_cause -= hazard
    by_cause *= by_cause
    by_cause *= steps.failed
    unfailed = steps.at_risk - over_causes(steps.failed)
    unfailed *= hazard**2
    return np.asarray(over_causes(by_cause) + unfailed, np.float64)

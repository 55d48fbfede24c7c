"""The Weibull log-likelihood of delayed, unfinished lives, with the scale solved for."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.counting import over_causes
from garage.lifetimes.laws.power_sums import PowerSums
from garage.lifetimes.risk_table import RiskTable

SHAPE_SMALLEST, SHAPE_LARGEST = 0.02, 200.0
"""No unit; outside, the data press against a limit of the law (all by chance at one distance,
or a hazard that only falls) and no shape is given. Judgement, no source: lives of parts show
shapes from about 0.5 to 8."""

LOG_SHAPE_TOLERANCE = 1e-12
MOST_STEPS = 200

ROUNDED_TO_ZERO = 0.5
"""Clock units; a failure recorded at clock 0 happened somewhere within the first unit."""


@dataclass(frozen=True, slots=True, eq=False)
class WeibullProfile:
    """Sums that the log-likelihood needs, and the likelihood as a function of shape alone.

    log L = sum c log h(t) - sum (failed + withdrawn) H(t) + sum entered H(t). For a given
    shape the best scale has a closed form, (M / D) ** (1 / shape) with M the sum of
    exposed * t ** shape, so the search runs in one dimension, where it can be bracketed.

    Attributes
    ----------
    failures : float
        D, the sum of (corrected) failures.
    log_reference : float
        Logarithm of the largest clock value; all logs are taken against it, so that no
        power overflows.
    powers : PowerSums
        Of exposure (left minus entered), over the clock against its largest value.
    """

    failures: float
    failed_log_sum: float
    log_reference: float
    powers: PowerSums

    @classmethod
    def from_sums(cls, clock: FloatArray, corrected: FloatArray, exposed: FloatArray) -> Self:
        """Take failures and exposure (left minus entered) at clock values, in any order."""
        # By place, not by mask: several times as fast where the rows are many.
        failing = np.flatnonzero(corrected > 0)
        counts = corrected.take(failing)
        at = clock.copy()
        at[failing] = np.where(clock.take(failing) <= 0, ROUNDED_TO_ZERO, clock.take(failing))
        reference = float(np.log(np.max(at))) if len(at) and np.max(at) > 0 else 0.0
        running = np.flatnonzero((at > 0) & (exposed != 0))
        at_running = at.take(running)
        return cls(
            failures=float(corrected.sum()),
            failed_log_sum=float((counts * (np.log(at.take(failing)) - reference)).sum()),
            log_reference=reference,
            powers=PowerSums.of(
                np.log(at_running) - reference,
                exposed.take(running),
                ascending=bool(np.all(at_running[1:] >= at_running[:-1])),
            ),
        )

    @classmethod
    def from_table(cls, table: RiskTable) -> Self:
        """Take the sums from a risk table; all causes count as failures."""
        failed = over_causes(table.failed)
        left = failed + table.withdrawn
        # A failure at clock 0 is exposed to half a unit; an entry there is not.
        failed_at_zero = np.flatnonzero((table.clock <= 0) & (failed > 0))
        exposed = left - table.entered
        exposed[failed_at_zero] = left[failed_at_zero]
        clock = table.clock.astype(np.float64)
        return cls.from_sums(clock, over_causes(table.corrected), exposed)

    @classmethod
    def from_lives(
        cls, entry: FloatArray, exit_: FloatArray, failed: BoolArray, weight: FloatArray
    ) -> Self:
        """Take the sums from weighted single lives."""
        delayed = entry > 0
        clock = np.concatenate([exit_, entry[delayed]])
        nothing = np.zeros(int(delayed.sum()))
        return cls.from_sums(
            clock,
            np.concatenate([np.where(failed, weight, 0.0), nothing]),
            np.concatenate([weight, -weight[delayed]]),
        )

    def exposure(self, shape: float) -> float:
        """M, the sum of exposed * (t / reference) ** shape."""
        return self.powers.total(shape)

    def log_scale(self, shape: float) -> float:
        """Logarithm of the best scale for this shape."""
        return self.log_reference + float(np.log(self.exposure(shape) / self.failures)) / shape

    def height(self, log_shape: float) -> float:
        """Log-likelihood at this shape and its best scale; minus infinity where none is."""
        return self.height_and_log_scale(log_shape)[0]

    def height_and_log_scale(self, log_shape: float) -> tuple[float, float]:
        """`height` and `log_scale` from one pass over the data."""
        shape = float(np.exp(log_shape))
        exposure = self.exposure(shape)
        if exposure <= 0:
            return -np.inf, -np.inf
        log_ratio = float(np.log(exposure / self.failures))
        failed_logs = self.failed_log_sum + self.failures * self.log_reference
        height = (
            self.failures * (log_shape - log_ratio - 1) + shape * self.failed_log_sum - failed_logs
        )
        return height, self.log_reference + log_ratio / shape

    def slope_and_bend(self, log_shape: float) -> tuple[float, float]:
        """First and second derivative of `height` in the log shape."""
        shape = float(np.exp(log_shape))
        total, rising, bending = self.powers.with_slopes(shape)
        first, second = rising / total, bending / total
        pull = shape * self.failed_log_sum
        slope = self.failures + pull - self.failures * shape * first
        bend = pull - self.failures * (shape * first + shape**2 * (second - first**2))
        return slope, bend

    def information(self, log_shape: float) -> FloatArray:
        """Minus the second derivatives of the log-likelihood in (log shape, log scale)."""
        shape = float(np.exp(log_shape))
        best = self.log_scale(shape) - self.log_reference
        total, rising, bending = self.powers.with_slopes(shape)
        # Of hazard, exposed * exp(u), times u and u ** 2, with u = shape * (log - best).
        hazard = float(np.exp(-shape * best))
        lean = hazard * shape * (rising - best * total)
        square = hazard * shape**2 * (bending - 2 * best * rising + best**2 * total)
        along = shape * (self.failed_log_sum - self.failures * best)
        shape_shape = along - lean - square
        shape_scale = shape * lean
        scale_scale = -(shape**2) * self.failures
        return -np.array([[shape_shape, shape_scale], [shape_scale, scale_scale]])

    def best_log_shape(self, low: float, high: float) -> float | None:
        """Where `height` is greatest between two log shapes; None if it rises over an end.

        Newton's steps while they stay inside the bracket and climb, halving otherwise.
        """
        if self.slope_and_bend(low)[0] <= 0 or self.slope_and_bend(high)[0] >= 0:
            return None
        at = min(max(0.0, low), high)
        for _ in range(MOST_STEPS):
            slope, bend = self.slope_and_bend(at)
            low, high = (at, high) if slope > 0 else (low, at)
            step = at - slope / bend if bend < 0 else np.inf
            if not low < step < high:
                step = (low + high) / 2
            if abs(step - at) < LOG_SHAPE_TOLERANCE:
                return step
            at = step
        return at

"""Lives as the sums that the likelihood of a law of log life runs over."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.weibull_profile import ROUNDED_TO_ZERO
from garage.lifetimes.risk_table import RiskTable

NONE = np.zeros(0)


@dataclass(frozen=True, slots=True, eq=False)
class LikelihoodRows:
    """What each clock value adds to a log-likelihood, lives of one kind joined.

    Attributes
    ----------
    exact, exact_weight : arrays, shape (e,)
        Failures at a clock value, as log density.
    alive, alive_weight : arrays, shape (a,)
        Lives unfailed there, as log survival; below 0 for those that came under watch.
    low, high, between_weight : arrays, shape (b,)
        Failures in an interval, as the log of the share between; `low` is 0 where the
        interval begins at the start of the clock.
    n, failed : float
        Lives, and those known to have failed, as seen.
    counted : float
        Failures as they weigh, each divided by its capture share.
    exposure : float
        Clock units watched, at least: a failure in an interval counts to where it was last
        known sound.
    """

    exact: FloatArray
    exact_weight: FloatArray
    alive: FloatArray
    alive_weight: FloatArray
    low: FloatArray
    high: FloatArray
    between_weight: FloatArray
    n: float
    failed: float
    counted: float
    exposure: float

    @classmethod
    def from_table(cls, table: RiskTable) -> Self:
        """Take the rows of a risk table; all causes count as failures.

        log L = sum corrected * log h - sum (failed + withdrawn) * H + sum entered * H, with
        log h = log density + H.
        """
        clock = table.clock.astype(np.float64)
        left = table.failed.sum(axis=0) + table.withdrawn
        corrected = table.corrected.sum(axis=0)
        # A failure at clock 0 is exposed to half a unit; an entry there is not.
        at_zero = (clock <= 0) & (table.failed.sum(axis=0) > 0)
        exposed = np.where(at_zero, left, left - table.entered)
        clock = np.where(at_zero, ROUNDED_TO_ZERO, clock)
        running, failing = clock > 0, corrected > 0
        alive = exposed - corrected
        kept = running & (alive != 0)
        return cls(
            clock[failing],
            corrected[failing],
            clock[kept],
            alive[kept],
            NONE,
            NONE,
            NONE,
            float(table.n),
            float(table.failed_total),
            float(corrected.sum()),
            float(exposed[running] @ clock[running]),
        )

    @classmethod
    def from_intervals(cls, lives: IntervalLives) -> Self:
        """Take lives one by one, equal ones joined."""
        rows = lives.distinct()
        weight = rows.weight
        left, entry = np.maximum(rows.left, 0.0), np.maximum(rows.entry, 0.0)
        at_zero = rows.right <= 0
        exact = rows.exact | at_zero
        unfailed = rows.unfailed
        between = ~exact & ~unfailed
        at = np.where(at_zero, ROUNDED_TO_ZERO, rows.right)[exact]
        alive = np.concatenate([left[unfailed], entry])
        alive, alive_weight = _joined(alive, np.concatenate([weight[unfailed], -weight]))
        last_known = left.copy()
        last_known[exact] = at
        failed = float(weight[~unfailed].sum())
        return cls(
            at,
            weight[exact],
            alive,
            alive_weight,
            left[between],
            rows.right[between],
            weight[between],
            float(weight.sum()),
            failed,
            failed,
            float(weight @ (last_known - entry)),
        )

    def __add__(self, other: Self) -> Self:
        """The rows of both, which must be different lives."""

        def both(name: str) -> FloatArray:
            return np.concatenate([getattr(self, name), getattr(other, name)])

        return type(self)(
            both("exact"),
            both("exact_weight"),
            both("alive"),
            both("alive_weight"),
            both("low"),
            both("high"),
            both("between_weight"),
            self.n + other.n,
            self.failed + other.failed,
            self.counted + other.counted,
            self.exposure + other.exposure,
        )

    @property
    def share_seen(self) -> float:
        """Failures seen for each that counts: 1 where none is corrected."""
        return self.failed / self.counted if self.counted > 0 else 1.0

    @property
    def delayed(self) -> bool:
        """Whether any life came under watch after the start of its clock."""
        return bool(np.any(self.alive_weight < 0))

    @property
    def may_be_one_distance(self) -> bool:
        """Whether a law without any spread would suit all failures and all lives unfailed."""
        unfailed = self.alive[self.alive_weight > 0]
        sound_to = float(np.max(np.concatenate([self.low, self.exact, unfailed]), initial=0.0))
        failed_by = float(np.min(np.concatenate([self.high, self.exact]), initial=np.inf))
        # A density may grow without end where a life left; a share between looks may not.
        return sound_to <= failed_by if len(self.exact) else sound_to < failed_by


def _joined(clock: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    running = clock > 0
    places, place = np.unique(clock[running], return_inverse=True)
    summed = np.bincount(place.reshape(-1), weight[running], len(places))
    kept = summed != 0
    return places[kept], summed[kept]

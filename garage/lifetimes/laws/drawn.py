"""Laws near a fitted one, each with the weight that the fit and a part's survival give it."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from scipy.special import ndtri

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import normal_deviate
from garage.lifetimes.laws.law import HazardLaw

LATTICE = np.linspace(-5.0, 5.0, 41)
"""Standard deviates at which each of the two parameters is looked at. The trapezoid rule on a
normal density is exact to ten digits at twice this spacing; it is finer so that a limit falls
between many laws."""

LEAST_WEIGHT = 1e-14
"""Share of the greatest weight under which a law is left out; all such together do not matter."""

STEEPNESS = 3
"""Power by which the points of a mean crowd towards distance 0, where early failures fall."""

NODES, WEIGHTS = np.polynomial.legendre.leggauss(64)

LARGEST_SHARE = 1 - 1e-16


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLaws:
    """Laws of life of one family, with weights; made by `around`.

    All are the fitted law on a stretched clock: cumulative hazard
    H((t / own scale) ** (own shape / shape) * scale), so that one call of the fitted law serves
    all of them.
    """

    law: HazardLaw
    shape: float
    scale: float
    shapes: FloatArray
    scales: FloatArray
    weights: FloatArray
    now: float
    _reached: FloatArray

    @classmethod
    def around(cls, law: HazardLaw, logs: FloatArray, covariance: FloatArray) -> Self:
        """The laws at the points of the lattice, logs and covariance of (shape, scale)."""
        first, second = (each.ravel() for each in np.meshgrid(LATTICE, LATTICE))
        spread = float(np.sqrt(max(covariance[0, 0], 0.0)))
        along = 0.0
        if spread > 0:
            along = float(covariance[0, 1]) / spread
        else:
            first, second = np.zeros_like(LATTICE), LATTICE
        across = float(np.sqrt(max(covariance[1, 1] - along**2, 0.0)))
        weights = np.exp(-(first**2 + second**2) / 2)
        return cls(
            law,
            float(np.exp(logs[0])),
            float(np.exp(logs[1])),
            np.exp(logs[0] + spread * first),
            np.exp(logs[1] + along * first + across * second),
            weights / weights.sum(),
            0.0,
            np.zeros_like(weights),
        )

    def surviving(self, now: float) -> tuple[Self, float]:
        """The laws weighted by their survival to `now`, and their mean survival to it."""
        reached = self._cumulative_hazard(np.array([now]))[:, 0]
        weights = self.weights * np.exp(-reached)
        total = float(weights.sum())
        # Also drops laws whose survival is 0, for which nothing can be said of what follows.
        kept = weights > LEAST_WEIGHT * weights.max()
        return type(self)(
            self.law,
            self.shape,
            self.scale,
            self.shapes[kept],
            self.scales[kept],
            weights[kept] / weights[kept].sum() if total > 0 else weights[kept],
            now,
            reached[kept],
        ), total

    def each_lasting(self, further: FloatArray) -> FloatArray:
        """Chance of lasting each further distance under each law, shape (laws, distances)."""
        gained = self._cumulative_hazard(self.now + further) - self._reached[:, None]
        return np.asarray(np.exp(-gained), np.float64)

    def lasting(self, further: FloatArray) -> FloatArray:
        """The same, mixed over the laws, shape (distances,)."""
        return np.asarray(self.weights @ self.each_lasting(further), np.float64)

    def each_quantile(self, share_failed: float) -> FloatArray:
        """Further distance within which a share fails under each law."""
        hazard = self._reached - np.log1p(-share_failed)
        own = self.law.quantile(np.minimum(-np.expm1(-hazard), LARGEST_SHARE)) / self.scale
        clock = self.scales * own ** (self.shape / self.shapes)
        return np.asarray(np.maximum(clock - self.now, 0.0), np.float64)

    def each_mean_within(self, horizon: float) -> FloatArray:
        """Mean further distance within a horizon under each law."""
        root = 0.5 + 0.5 * NODES
        points = horizon * root**STEEPNESS
        share = 0.5 * WEIGHTS * horizon * STEEPNESS * root ** (STEEPNESS - 1)
        return np.asarray(self.each_lasting(points) @ share, np.float64)

    def limits(self, figures: FloatArray, level: float) -> tuple[float, float]:
        """The weighted quantiles of the laws' figures that hold `level` between them."""
        order = np.argsort(figures)
        weights = self.weights[order]
        # On the scale of normal deviates figures lie nearly on a line.
        below = ndtri(np.clip(np.cumsum(weights) - weights / 2, LEAST_WEIGHT, LARGEST_SHARE))
        reach = normal_deviate(level)
        lower, upper = np.interp([-reach, reach], below, figures[order])
        return float(lower), float(upper)

    def _cumulative_hazard(self, clock: FloatArray) -> FloatArray:
        # A steep law far out has no float, nor any chance of being reached.
        with np.errstate(over="ignore"):
            reduced = clock / self.scales[:, None]
            own = reduced ** (self.shapes / self.shape)[:, None]
            return np.asarray(self.law.cumulative_hazard(self.scale * own), np.float64)

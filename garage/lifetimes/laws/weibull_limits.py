"""Likelihood-ratio limits of a Weibull fit: how far a figure can move before the data object."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from garage.lifetimes.laws.weibull_profile import (
    SHAPE_LARGEST,
    SHAPE_SMALLEST,
    WeibullProfile,
)

LOG_SMALLEST, LOG_LARGEST = float(np.log(SHAPE_SMALLEST)), float(np.log(SHAPE_LARGEST))

CONTOUR_POINTS = 41
"""Shapes at which the edge of the likelihood region is looked at before it is refined."""

NEWTON_STEPS = 60


@dataclass(frozen=True)
class LikelihoodRegion:
    """All (shape, scale) whose log-likelihood lies within `drop` of the greatest.

    Parameters
    ----------
    profile : WeibullProfile
    log_shape : float
        Of the best fit, or the fixed one.
    drop : float
        Half the square of the normal deviate, larger where failures stand for more than
        themselves.
    fixed : bool
        Whether the shape is known, so that the region is a line.
    """

    profile: WeibullProfile
    log_shape: float
    drop: float
    fixed: bool

    @cached_property
    def floor(self) -> float:
        """Log-likelihood on the edge of the region."""
        return self.profile.height(self.log_shape) - self.drop

    @cached_property
    def log_shape_limits(self) -> tuple[float | None, float | None]:
        """Smallest and largest log shape in the region; None where it has no edge."""
        if self.fixed:
            return None, None
        return self._edge(LOG_SMALLEST), self._edge(LOG_LARGEST)

    @cached_property
    def _contour(self) -> list[tuple[float, float, float]]:
        """Log shapes across the region, each with its height and its best log scale."""
        low, high = self.log_shape_limits
        ends = (LOG_SMALLEST if low is None else low, LOG_LARGEST if high is None else high)
        grid = np.linspace(*ends, CONTOUR_POINTS)
        return [(float(at), *self.profile.height_and_log_scale(float(at))) for at in grid]

    def _edge(self, end: float) -> float | None:
        floor = self.floor
        inner, stride = self.log_shape, 0.1 if end > self.log_shape else -0.1
        while True:
            outer = inner + stride
            outer = min(outer, end) if stride > 0 else max(outer, end)
            if self.profile.height(outer) < floor:
                break
            if outer == end:
                return None
            inner, stride = outer, stride * 1.5
        return float(brentq(lambda at: self.profile.height(at) - floor, inner, outer, xtol=1e-12))

    def log_quantile_limits(self, offset: float) -> tuple[float | None, float | None]:
        """Smallest and largest log scale + offset / shape in the region.

        `offset` is log(-log(1 - share)) for the clock by which a share has failed, 0 for the
        scale itself. None where the region has no edge on that side.
        """
        if self.fixed:
            best = (self.log_shape, *self.profile.height_and_log_scale(self.log_shape))
            return self._across(*best, offset, -1), self._across(*best, offset, 1)
        return self._furthest(offset, -1), self._furthest(offset, 1)

    def _across(
        self, log_shape: float, height: float, log_scale: float, offset: float, side: int
    ) -> float:
        """The edge of the region above (side 1) or below (-1) the best scale of a shape.

        With x = shape * (log scale - its best) the log-likelihood falls by
        D (x + exp(-x) - 1).
        """
        fall = max((height - self.floor) / self.profile.failures, 0.0)
        return log_scale + (_fallen_by(fall, side) + offset) / float(np.exp(log_shape))

    def _furthest(self, offset: float, side: int) -> float | None:
        def loss(log_shape: float) -> float:
            at = self.profile.height_and_log_scale(log_shape)
            return -side * self._across(log_shape, *at, offset, side)

        contour = self._contour
        losses = [-side * self._across(*each, offset, side) for each in contour]
        best, last = int(np.argmin(losses)), len(contour) - 1
        low, high = self.log_shape_limits
        if (best == 0 and low is None) or (best == last and high is None):
            return None
        around = (contour[max(best - 1, 0)][0], contour[min(best + 1, last)][0])
        found = minimize_scalar(loss, bounds=around, method="bounded", options={"xatol": 1e-8})
        return -side * min(float(found.fun), losses[best])


def _fallen_by(fall: float, side: int) -> float:
    """The x above (side 1) or below (-1) zero with x + exp(-x) - 1 = fall.

    The function is convex and the start lies at or beyond the root, or one step brings it
    there; from then on Newton's steps close in from outside. Lambert's
    function would invert it, but loses half the digits where fall is small.
    """
    at = side * float(np.sqrt(2 * fall)) + (fall / 3 if side > 0 else 0.0)
    for _ in range(NEWTON_STEPS):
        slope = -float(np.expm1(-at))
        if slope == 0:
            break
        step = (at + float(np.expm1(-at)) - fall) / slope
        at -= step
        if abs(step) <= 1e-14 * abs(at):
            break
    return at

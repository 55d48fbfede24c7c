"""The search for the visit law of greatest likelihood, kept within what can be told from data."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.likelihood import PARAMETERS, log_likelihood

REGULARITY_RANGE = (0.3, 30.0)
"""Gamma shapes of gaps: bursts up to a coefficient of variation of 1.8, timetables down to
0.18. Judgement, no source; beyond, the quadrature would need more nodes."""

RATE_SHAPE_RANGE = (0.05, 1_000.0)
"""Gamma shapes of rates between vehicles: at the upper end they differ by 3 %, which no
workshop's records tell from equal. Judgement, no source."""

LEAVING_SHAPE_RANGE = (0.1, 200.0)
"""Gamma shapes of leaving rates between vehicles, likewise."""

RATE_FACTOR_RANGE = (0.1, 50.0)
"""Visit and mean leaving rates, against repeats per time watched. Those who left early came
faster than that while they were customers. Judgement, no source."""

LEAST_LEFT = 1e-4
"""Lowest leaving rate, in customers lost during the longest watch: as good as none lost."""

LARGEST_SLOPE = 1e-5
"""The likelihood's slope, a vehicle, below which the search counts as settled."""

BOUND_SLACK = 1e-6
"""Of a logarithm; a parameter nearer than this to the end of its range lies on it."""

HESSIAN_STEP = 1e-4
"""Of a logarithm; the slopes are good to 1e-9, so second derivatives to 1e-5."""

NEWTON_STEPS = 8
SEARCH_STEPS = 200


@dataclass(frozen=True, slots=True, eq=False)
class SearchSpace:
    """Which parameters are sought (logarithms), in which ranges, over which vehicles."""

    known: VisitHistories
    free: BoolArray
    lower: FloatArray
    upper: FloatArray

    @classmethod
    def over(
        cls, known: VisitHistories, *, regularity_known: bool, gamma_leaving: bool
    ) -> "SearchSpace":
        """Ranges that suit these vehicles."""
        rate = pooled_rate(known)
        low, high = rate * RATE_FACTOR_RANGE[0], rate * RATE_FACTOR_RANGE[1]
        least = LEAST_LEFT / float(known.watched_until.max())
        ranges = np.log(
            [REGULARITY_RANGE, (low, high), RATE_SHAPE_RANGE, (least, high), LEAVING_SHAPE_RANGE]
        )
        free = np.array([not regularity_known, True, True, True, gamma_leaving])
        return cls(known, free, ranges[:, 0], ranges[:, 1])

    def value_and_slope(self, point: FloatArray, law: VisitLaw) -> tuple[float, FloatArray]:
        """Log-likelihood and its slope in the free logarithms `point`, others as in `law`."""
        values, slopes = log_likelihood(self.law_at(point, law), self.known)
        weight = self.known.weight
        return float(weight @ values), np.asarray(weight @ slopes[:, self.free], np.float64)

    def law_at(self, point: FloatArray, law: VisitLaw) -> VisitLaw:
        """The law with these free logarithms, the rest as in `law`."""
        figures = [getattr(law, name) for name in PARAMETERS]
        for place, value in zip(np.flatnonzero(self.free), np.exp(point), strict=True):
            figures[place] = float(value)
        if not self.free[4]:
            figures[4] = None
        return VisitLaw(*figures)

    def point_of(self, law: VisitLaw) -> FloatArray:
        """The free logarithms of a law, brought into their ranges."""
        figures = [getattr(law, name) or 1.0 for name in PARAMETERS]
        point = np.clip(np.log(figures), self.lower, self.upper)
        return np.asarray(point[self.free], np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Top:
    """Where a search ended: `inside` marks the free parameters that lie off their bounds."""

    law: VisitLaw
    point: FloatArray
    value: float
    inside: BoolArray
    covariance: FloatArray
    settled: bool


def pooled_rate(known: VisitHistories) -> float:
    """Repeat visits of all, for all the time watched."""
    return float(known.weight @ known.repeats / (known.weight @ known.watched_until))


def climb(space: SearchSpace, start: VisitLaw) -> Top:
    """Find the highest likelihood from a start: quasi-Newton within the ranges, then Newton.

    Newton's steps are taken only while they raise the likelihood and only in parameters off
    their bounds; the covariance is the inverse of minus the last second derivatives there.
    """
    n = float(space.known.weight.sum())
    lower, upper = space.lower[space.free], space.upper[space.free]

    def loss(point: FloatArray) -> tuple[float, FloatArray]:
        value, slope = space.value_and_slope(point, start)
        return -value / n, -slope / n

    found = minimize(
        loss,
        space.point_of(start),
        jac=True,
        method="L-BFGS-B",
        bounds=list(zip(lower, upper, strict=True)),
        options={"maxiter": SEARCH_STEPS, "gtol": LARGEST_SLOPE / 10, "ftol": 1e-13},
    )
    point = np.asarray(found.x, np.float64)
    value, slope = space.value_and_slope(point, start)
    inside = (point > lower + BOUND_SLACK) & (point < upper - BOUND_SLACK)
    covariance = np.zeros((point.size, point.size))
    for _ in range(NEWTON_STEPS):
        curve = -_second_derivatives(space, point, start, inside)
        if not inside.any() or np.linalg.eigvalsh(curve)[0] <= 0:
            break
        covariance[np.ix_(inside, inside)] = np.linalg.inv(curve)
        step = covariance @ np.where(inside, slope, 0.0)
        if np.abs(slope[inside]).max() / n < LARGEST_SLOPE / 100:
            break
        moved = np.clip(point + step, lower, upper)
        higher, moved_slope = space.value_and_slope(moved, start)
        if not higher >= value:
            break
        point, value, slope = moved, higher, moved_slope
        inside = (point > lower + BOUND_SLACK) & (point < upper - BOUND_SLACK)
    settled = bool(np.all(np.abs(slope[inside]) < LARGEST_SLOPE * n))
    known_well = covariance[np.ix_(inside, inside)].size == 0 or bool(
        np.all(np.diag(covariance)[inside] > 0)
    )
    return Top(space.law_at(point, start), point, value, inside, covariance, settled and known_well)


def _second_derivatives(
    space: SearchSpace, point: FloatArray, law: VisitLaw, inside: BoolArray
) -> FloatArray:
    """Central differences of the slopes, in the parameters off their bounds."""
    rows = []
    for place in np.flatnonzero(inside):
        move = np.zeros_like(point)
        move[place] = HESSIAN_STEP
        above = space.value_and_slope(point + move, law)[1]
        below = space.value_and_slope(point - move, law)[1]
        rows.append((above - below)[inside] / (2 * HESSIAN_STEP))
    matrix = np.asarray(rows, np.float64).reshape(len(rows), len(rows))
    return np.asarray((matrix + matrix.T) / 2, np.float64)

"""How badly each pair of coefficients, none below zero, fits the points: a quadratic bowl."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from garage.evidence.resistance.points import Corrected, Floats

# The weights rest on the fit through the flow's uncertainty; five rounds settle them to far below
# any reading's own uncertainty.
_ROUNDS = 5
_STEPS_OF_SHARE = 400


@dataclass(frozen=True, slots=True)
class Bowl:
    """Chi-square about its free minimum: `least + (x - centre)' curvature (x - centre)`.

    `best` is the lowest place at which no coefficient is below zero, `lowest` the depth there.
    """

    centre: Floats
    curvature: Floats
    least: float
    best: Floats
    lowest: float

    def depth(self, coefficients: Floats) -> float:
        """Chi-square at these coefficients."""
        off = coefficients - self.centre
        return self.least + float(off @ self.curvature @ off)


def bowl_fitted(points: Corrected, flow_correlation: float) -> Bowl:
    """Fit ``dp = a mu Q + b rho Q²`` by generalised least squares, `a` and `b` not below zero.

    The zero's uncertainty is common to all points; that of the flow counts by the fitted slope
    and is common to them as far as `flow_correlation` says.

    Examples
    --------
    >>> flow = np.array([0.012, 0.071])
    >>> points = Corrected(
    ...     np.array([120.0, 820.0]), np.array([10.0, 10.0]), 5.0, flow, flow * 0.02,
    ...     np.array([2.38e-5, 2.75e-5]), np.array([0.83, 0.67]))
    >>> bool((bowl_fitted(points, 0.5).best >= 0.0).all())
    True
    """
    linear = points.viscosity_pa_s * points.flow_m3_per_s
    square = points.density_kg_per_m3 * points.flow_m3_per_s**2
    design = np.column_stack([linear, square])
    # Columns differ by many orders of magnitude: brought to one, or the inverse loses places.
    scale = np.linalg.norm(design, axis=0)
    design = design / scale
    best = np.zeros(2)
    for _ in range(_ROUNDS):
        slope = (best[0] * design[:, 0] + 2.0 * best[1] * design[:, 1]) / points.flow_m3_per_s
        weight = np.linalg.inv(_covariance(points, slope, flow_correlation))
        curvature = design.T @ weight @ design
        centre = np.linalg.solve(curvature, design.T @ weight @ points.pressure_pa)
        off = points.pressure_pa - design @ centre
        bowl = _with_best(centre, curvature, float(off @ weight @ off))
        best = bowl.best
    back = np.outer(scale, scale)
    return Bowl(
        bowl.centre / scale, bowl.curvature * back, bowl.least, bowl.best / scale, bowl.lowest
    )


def least_fitting(bowl: Bowl, direction: Floats, reached: float) -> tuple[float, float]:
    """Least and greatest of ``direction @ (a, b)`` with a depth of at most `reached`.

    `direction` has both parts above zero. The other coefficient is free on the way: this is the
    profile of chi-square, held where no coefficient is below zero.

    Examples
    --------
    >>> round_bowl = Bowl(np.array([1.0, 1.0]), np.eye(2), 0.0, np.array([1.0, 1.0]), 0.0)
    >>> low, high = least_fitting(round_bowl, np.array([1.0, 1.0]), 0.5)
    >>> round(low, 6), round(high, 6)
    (1.0, 3.0)
    """

    def over(total: float) -> float:
        return _profile(bowl, direction, total) - reached

    middle = float(direction @ bowl.best)
    low = 0.0 if over(0.0) <= 0.0 else _crossing(over, 0.0, middle)
    high = max(2.0 * middle, float(np.abs(direction / np.sqrt(np.diag(bowl.curvature))).max()))
    while over(high) <= 0.0:
        high *= 2.0
    return low, _crossing(over, middle, high)


def shares_fitting(bowl: Bowl, direction: Floats, reached: float) -> tuple[float, float] | None:
    """Least and greatest share of the second part in the total, with a depth of at most `reached`.

    To a four-hundredth; None where no share but 0/0 fits.

    Examples
    --------
    >>> sharp = Bowl(np.array([3.0, 1.0]), np.eye(2) * 1e9, 0.0, np.array([3.0, 1.0]), 0.0)
    >>> shares_fitting(sharp, np.array([1.0, 1.0]), 4.0)
    (0.25, 0.25)
    """
    fitting = []
    for share in np.linspace(0.0, 1.0, _STEPS_OF_SHARE + 1):
        way = np.array([1.0 - share, share]) / direction
        total = float(way @ bowl.curvature @ bowl.centre) / float(way @ bowl.curvature @ way)
        if bowl.depth(max(total, 0.0) * way) <= reached:
            fitting.append(float(share))
    return (fitting[0], fitting[-1]) if fitting else None


def _covariance(points: Corrected, slope: Floats, flow_correlation: float) -> Floats:
    from_flow = slope * points.flow_uncertainty_m3_per_s
    own = points.uncertainty_pa**2 + (1.0 - flow_correlation) * from_flow**2
    return np.asarray(
        np.diag(own)
        + flow_correlation * np.outer(from_flow, from_flow)
        + points.zero_uncertainty_pa**2,
        dtype=np.float64,
    )


def _with_best(centre: Floats, curvature: Floats, least: float) -> Bowl:
    free = Bowl(centre, curvature, least, centre, least)
    if bool((centre >= 0.0).all()):
        return free
    tried = [np.zeros(2)]
    for kept, other in ((0, 1), (1, 0)):
        edge = np.zeros(2)
        along = centre[kept] + curvature[kept, other] / curvature[kept, kept] * centre[other]
        edge[kept] = max(float(along), 0.0)
        tried.append(edge)
    best = min(tried, key=free.depth)
    return Bowl(centre, curvature, least, best, free.depth(best))


def _profile(bowl: Bowl, direction: Floats, total: float) -> float:
    """Least depth with ``direction @ (a, b)`` equal to `total` and none below zero."""
    start = np.array([0.0, total / direction[1]])
    way = np.array([total / direction[0], 0.0]) - start
    bend = float(way @ bowl.curvature @ way)
    if bend == 0.0:
        return bowl.depth(start)
    step = -float(way @ bowl.curvature @ (start - bowl.centre)) / bend
    return bowl.depth(start + min(max(step, 0.0), 1.0) * way)


def _crossing(over: Callable[[float], float], low: float, high: float) -> float:
    return float(brentq(over, low, high, xtol=1e-12 * max(high, 1e-300)))

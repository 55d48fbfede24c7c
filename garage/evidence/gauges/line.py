"""A straight line through points, with the 95 % limits that their scatter gives it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.special import stdtrit


@dataclass(frozen=True, slots=True)
class Line:
    """Intercept and slope; uncertainties are None where two points leave no scatter to see."""

    intercept: float
    slope: float
    intercept_uncertainty: float | None
    slope_uncertainty: float | None
    scatter: float | None
    coverage: float | None
    departures: tuple[float, ...]


def line_through(across: Sequence[float], up: Sequence[float]) -> Line:
    """Answer which line fits by least squares, all points alike.

    Uncertainties are standard ones; ``coverage`` is Student's t for 95 % at n - 2. Raises
    ValueError for fewer than two distinct values across. Source: JCGM 100:2008, H.3, from memory.

    Examples
    --------
    >>> line_through([0, 1, 2], [1, 3, 5]).slope
    2.0
    """
    x, y = np.asarray(across, dtype=float), np.asarray(up, dtype=float)
    if len(set(x.tolist())) < 2:
        raise ValueError(f"a line takes two distinct values; got {list(across)}; add a point")
    mean = float(x.mean())
    square = float(((x - mean) ** 2).sum())
    slope = float(((x - mean) * (y - y.mean())).sum()) / square
    intercept = float(y.mean()) - slope * mean
    departures = y - intercept - slope * x
    free = len(x) - 2
    told = tuple(float(d) for d in departures)
    if free == 0:
        return Line(intercept, slope, None, None, None, None, told)
    scatter = sqrt(float((departures**2).sum()) / free)
    return Line(
        intercept,
        slope,
        scatter * sqrt(1 / len(x) + mean**2 / square),
        scatter / sqrt(square),
        scatter,
        float(stdtrit(free, 0.975)),
        told,
    )

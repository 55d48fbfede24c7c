"""Functions of distance on equal panels, and their convolution with a law of life."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.laws.law import HazardLaw, density

NODES = 20
"""Chebyshev points of a panel. Judgement, no source: panels of a median's width are then good
to about ten digits, and a finer grid is made of more panels, not of more points."""

GAUSS_NODES = 32
"""Gauss–Legendre points of one integral over a panel or half of one. Judgement, no source: well
above half of NODES, so that integrals are better than what is interpolated."""

SMOOTH_POWER = 3.0
"""Powers of a distance are smooth enough for the first panel from this exponent on. Judgement,
no source; tried for shapes from 0.5 to 5."""

LARGEST_POWER = 12
"""Of the stretching of the first panel; a law that needs more begins at a shape below 0.25."""


NEAR = np.array([[1e-6, 1e-4], [0.03, 0.3]])
"""Shares of the first panel between which the beginning of a law is looked at."""

SMALLEST_HAZARD = 1e-280
"""Below it a law has not begun; close to the smallest float."""


@dataclass(frozen=True, slots=True)
class Ends:
    """How the first panel is stretched: distance = width * s ** power."""

    width: float
    power: int

    @classmethod
    def of_laws(cls, laws: tuple[HazardLaw, ...], width: float) -> "Ends":
        """Stretch so that each law's chance of failing begins as s ** 3 or smoother."""
        exponent = min(_starting_exponent(law, width) for law in laws)
        power = int(np.ceil(SMOOTH_POWER / exponent - 1e-9))
        return cls(width, min(max(power, 1), LARGEST_POWER))


def _starting_exponent(law: HazardLaw, width: float) -> float:
    """The least power of the distance with which failures of a law begin, near 0 or less near.

    It is a Weibull law's shape at both; a lognormal law has none at 0 itself.
    """
    hazard = np.asarray(law.cumulative_hazard(width * NEAR))
    low, high = hazard[:, 0], hazard[:, 1]
    begun = low > SMALLEST_HAZARD
    if not np.any(begun):
        return SMOOTH_POWER
    rises = np.log(high[begun] / low[begun]) / np.log(NEAR[begun, 1] / NEAR[begun, 0])
    return max(float(rises.min()), SMOOTH_POWER / LARGEST_POWER)


def stretched(
    low: float | FloatArray, high: float | FloatArray, power: int
) -> tuple[FloatArray, FloatArray]:
    """Quadrature points and weights between two distances, dense towards distance 0.

    The integrand may behave there like a power of the distance; shape (..., GAUSS_NODES).
    """
    nodes, weights = GAUSS
    start = np.asarray(low, np.float64)[..., None] ** (1.0 / power)
    span = np.asarray(high, np.float64)[..., None] ** (1.0 / power) - start
    root = start + span * nodes
    return root**power, span * weights * power * root ** (power - 1)


def _unit_gauss() -> tuple[FloatArray, FloatArray]:
    nodes, weights = np.polynomial.legendre.leggauss(GAUSS_NODES)
    return 0.5 + 0.5 * nodes, 0.5 * weights


GAUSS = _unit_gauss()

# Chebyshev points of the first kind on (0, 1), ascending, with their barycentric weights.
_ANGLES = np.pi * (np.arange(NODES)[::-1] + 0.5) / NODES
POINTS: FloatArray = 0.5 + 0.5 * np.cos(_ANGLES)
_BARYCENTRIC: FloatArray = np.asarray((-1.0) ** np.arange(NODES) * np.sin(_ANGLES), np.float64)


def basis(local: FloatArray) -> FloatArray:
    """Weights of the panel's points in the polynomial's value at `local`; shape (..., NODES)."""
    apart = np.asarray(local, np.float64)[..., None] - POINTS
    hit = apart == 0.0
    terms = _BARYCENTRIC / np.where(hit, 1.0, apart)
    weights = terms / terms.sum(axis=-1, keepdims=True)
    on_point = hit.any(axis=-1)
    weights[on_point] = hit[on_point]
    return np.asarray(weights, np.float64)


def _differentiation() -> FloatArray:
    apart = POINTS[:, None] - POINTS
    np.fill_diagonal(apart, 1.0)
    matrix = _BARYCENTRIC / _BARYCENTRIC[:, None] / apart
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return np.asarray(matrix, np.float64)


DIFFERENTIATION = _differentiation()


@dataclass(frozen=True)
class ConvolutionGrid:
    """Panels on [0, panels * width], on which functions are convolved with one law.

    A function is held as its values at the points of every panel, shape (panels, NODES). The
    first panel's polynomial runs in s = (distance / width) ** (1 / power), for there functions
    begin like a power of the distance; the others' in the distance.

    Parameters
    ----------
    law : HazardLaw
        F of the convolution, integral of g(x - u) dF(u).
    ends : Ends
        Width of the panels, and how the first is stretched.
    panels : int
    """

    law: HazardLaw
    ends: Ends
    panels: int

    @cached_property
    def distances(self) -> FloatArray:
        """Where the functions are held, shape (panels, NODES)."""
        held = np.arange(self.panels)[:, None] + POINTS
        held[0] = POINTS**self.ends.power
        return np.asarray(held * self.ends.width, np.float64)

    def at(self, function: FloatArray, distances: FloatArray) -> FloatArray:
        """The function at any distances from 0 to the end of the grid."""
        panel, local = self._place(distances)
        return np.asarray(np.sum(basis(local) * function[panel], axis=-1), np.float64)

    def slope_at(self, function: FloatArray, distances: FloatArray) -> FloatArray:
        """Its derivative at any distances above 0."""
        panel, local = self._place(distances)
        power = self.ends.power
        slopes = np.sum(basis(local) * (function @ DIFFERENTIATION.T)[panel], axis=-1)
        stretch = np.where(panel == 0, power * local ** (power - 1), 1.0)
        return np.asarray(slopes / (stretch * self.ends.width), np.float64)

    def convolved(self, function: FloatArray) -> FloatArray:
        """Convolve the function with the law."""
        found = np.empty_like(function)
        found[0] = self._first @ function[0]
        for panel in range(1, self.panels):
            found[panel] = self._history(function, panel) + self._own @ function[panel]
        return found

    def renewed(self, start: FloatArray) -> FloatArray:
        """Solve g = start + (g convolved with the law), panel by panel."""
        found = np.empty_like(start)
        same = np.eye(NODES)
        found[0] = np.linalg.solve(same - self._first, start[0])
        factors = lu_factor(same - self._own)
        for panel in range(1, self.panels):
            found[panel] = lu_solve(factors, start[panel] + self._history(found, panel))
        return found

    def _place(self, distances: FloatArray) -> tuple[IntArray, FloatArray]:
        steps = np.asarray(distances, np.float64) / self.ends.width
        panel = np.clip(steps.astype(np.int64), 0, self.panels - 1)
        root = np.clip(steps, 0.0, 1.0) ** (1.0 / self.ends.power)
        return panel, np.where(panel == 0, root, steps - panel)

    def _history(self, function: FloatArray, panel: int) -> FloatArray:
        """What the earlier panels put in."""
        sum_ = self._from_first[panel - 1] @ function[0]
        if panel > 1:
            earlier = function[panel - 1 : 0 : -1]
            sum_ = sum_ + np.einsum("dij,dj->i", self._apart[: panel - 1], earlier)
        return np.asarray(sum_, np.float64)

    @cached_property
    def _first(self) -> FloatArray:
        """From the first panel to itself: both ends of the integral may be steep."""
        width, power = self.ends.width, self.ends.power
        ends = self.distances[0]
        short, weight = stretched(np.zeros(NODES), ends / 2, power)
        gone = np.concatenate([ends[:, None] - short, short], axis=1)
        run = np.concatenate([short, ends[:, None] - short], axis=1)
        mass = np.tile(weight, 2) * density(self.law, run)
        return _summed(mass, basis((gone / width) ** (1.0 / power)))

    @cached_property
    def _own(self) -> FloatArray:
        """From any later panel to itself."""
        width = self.ends.width
        run, weight = stretched(np.zeros(NODES), width * POINTS, self.ends.power)
        return _summed(weight * density(self.law, run), basis(POINTS[:, None] - run / width))

    @cached_property
    def _from_first(self) -> FloatArray:
        """From the first panel to each later one, shape (panels - 1, NODES, NODES)."""
        width, power = self.ends.width, self.ends.power
        # The next panel's points may lie close behind, where the law's density is steep.
        low = width * POINTS
        run, weight = stretched(low, low + width / 2, power)
        near = _summed(
            weight * density(self.law, run),
            basis(((low[:, None] + width - run) / width) ** (1.0 / power)),
        )
        gone, weight = stretched(0.0, width / 2, power)
        run = low[:, None] + width - gone
        near += (weight * density(self.law, run)) @ basis((gone / width) ** (1.0 / power))
        gone, weight = stretched(0.0, width, power)
        run = self.distances[2:, :, None] - gone
        far = (weight * density(self.law, run)) @ basis((gone / width) ** (1.0 / power))
        return np.concatenate([near[None], far])

    @cached_property
    def _apart(self) -> FloatArray:
        """From a panel, not the first, to the one 1, 2, ... further on."""
        width = self.ends.width
        low = width * POINTS
        run, weight = stretched(low, low + width, self.ends.power)
        near = _summed(weight * density(self.law, run), basis(POINTS[:, None] + 1.0 - run / width))
        nodes, weights = GAUSS
        steps = np.arange(2, max(self.panels - 1, 2))[:, None, None]
        run = width * (steps + POINTS[:, None] - nodes)
        far = (width * weights * density(self.law, run)) @ basis(nodes)
        return np.concatenate([near[None], far])


def _summed(mass: FloatArray, weights: FloatArray) -> FloatArray:
    """Sum mass (row, q) times weights (row, q, point) over q."""
    return np.asarray((mass[:, None, :] @ weights)[:, 0, :], np.float64)

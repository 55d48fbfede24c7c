"""How likely k or more failures within a distance are, each failed part being replaced at once."""

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.weibull import WeibullLaw

# The grid is doubled until two of them agree this well, relatively and absolutely.
RELATIVE_AGREEMENT = 1e-6
ABSOLUTE_AGREEMENT = 1e-8
GRID_SIZES = (24, 48, 96, 192, 384, 768)
# Beyond this chance of too few failures the answer is 1 for any use; it is below the agreement.
NEGLIGIBLE = 1e-10
# Powers of a distance are smooth enough for the grid from this exponent on.
SMOOTH_POWER = 3.0


def renewal_count_probability(
    first: WeibullLaw, later: WeibullLaw, distance: float, k: int, *, first_age: float = 0.0
) -> float:
    """Say how likely k or more failures within `distance` are.

    Parameters
    ----------
    first : WeibullLaw
        Law of the part in place at the start. The same law as `later` makes an ordinary renewal
        process, another (a factory part, say) a delayed one.
    later : WeibullLaw
        Law of every part fitted after a failure.
    distance : float
        At least 0, in the unit of the laws' scales.
    k : int
        At least 0.
    first_age : float
        At least 0; what the first part has already run, unfailed, at the start.

    Returns
    -------
    float
        In [0, 1]. Accurate to 1e-6 or better, also relatively, for shapes from 0.5 to 5.

    Raises
    ------
    ValueError
        A negative or infinite distance or age, a negative k.
    ArithmeticError
        The grids do not agree: a scale many hundred times smaller than the distance, with a k near
        what can be expected.

    Notes
    -----
    The chance G_k of the k-th failure by x obeys G_1 = first law, given its age, and
    G_k(x) = integral of G_(k-1)(x - u) dF(u), F the later law (Cox, Renewal Theory, 1962, chapter
    3; from memory). G is held at Chebyshev points of a power of the distance in which the laws are
    smooth, so the integral is one matrix, by Gauss-Legendre quadrature on either half.

    Examples
    --------
    Pure chance with one failure expected: 1 - 2 / e.

    >>> law = WeibullLaw(shape=1.0, scale=100_000.0)
    >>> round(renewal_count_probability(law, law, 100_000.0, 2), 6)
    0.264241
    """
    for name, value in (("distance", distance), ("first_age", first_age)):
        if not (np.isfinite(value) and value >= 0.0):
            raise ValueError(
                f"{name} must be a finite number, at least 0; got {value}. Give it in the unit of "
                "the laws' scales."
            )
    if k < 0:
        raise ValueError(f"k must be at least 0; got {k}. Give a number of failures.")
    if k == 0:
        return 1.0
    if distance == 0.0:
        return 0.0
    if k == 1:
        return float(_first_chance(first, first_age, np.array(distance)))
    # Fewer than k failures need one of k lives longer than an equal share of the distance.
    share = distance / k
    too_few = 1.0 - float(_first_chance(first, first_age, np.array(share)))
    too_few += (k - 1) * float(later.survival(share))
    if too_few < NEGLIGIBLE:
        return 1.0
    before: float | None = None
    for size in GRID_SIZES:
        found = _on_grid((first, later), distance, k, first_age, size)
        if before is not None:
            apart = abs(found - before)
            if apart <= ABSOLUTE_AGREEMENT and apart <= RELATIVE_AGREEMENT * abs(found) + 1e-300:
                return min(max(found, 0.0), 1.0)
        before = found
    raise ArithmeticError(
        f"the chance of {k} failures within {distance} does not settle for laws {first} and {later}"
        f"; the last two grids gave {before} and differ by {apart}. Ask for a shorter distance."
    )


def _first_chance(law: WeibullLaw, age: float, distance: FloatArray) -> FloatArray:
    """Chance that a part of this age fails within each distance."""
    gained = law.cumulative_hazard(age + distance) - law.cumulative_hazard(age)
    return np.asarray(-np.expm1(-gained), dtype=np.float64)


def _on_grid(
    laws: tuple[WeibullLaw, WeibullLaw], distance: float, k: int, age: float, size: int
) -> float:
    first, later = laws
    power = max(1, int(np.ceil(SMOOTH_POWER / min(first.shape, later.shape))))
    # Chebyshev points of the second kind on [0, 1], both ends among them.
    roots = 0.5 - 0.5 * np.cos(np.pi * np.arange(size + 1) / size)
    points = distance * roots**power
    chance = _first_chance(first, age, points)
    step = _step_matrix(later, points, roots, power)
    for _ in range(k - 1):
        # One more failure is never likelier; on a coarse grid the matrix does not know that.
        chance = np.clip(step @ chance, 0.0, chance)
    return float(chance[-1])


def _step_matrix(law: WeibullLaw, points: FloatArray, roots: FloatArray, power: int) -> FloatArray:
    """The matrix that turns the chances of j failures by each point into those of j + 1."""
    size = points.size - 1
    nodes, weights = np.polynomial.legendre.leggauss(size)
    along, weights = 0.5 + 0.5 * nodes, 0.5 * weights
    barycentric = (-1.0) ** np.arange(size + 1)
    barycentric[[0, -1]] *= 0.5
    step = np.zeros((size + 1, size + 1))
    part = along**power
    stretch = weights * power * along ** (power - 1)
    for row in range(1, size + 1):
        half = 0.5 * points[row]
        near = half * part
        # Either half is stretched towards its own end: the density may be steep at u = 0, the
        # chance at x - u = 0.
        lived = np.concatenate([near, points[row] - near])
        left = np.concatenate([points[row] - near, near])
        mass = np.tile(half * stretch, 2) * law.hazard(lived) * law.survival(lived)
        apart = (left / points[-1])[:, None] ** (1.0 / power) - roots
        hit = apart == 0.0
        terms = barycentric / np.where(hit, 1.0, apart)
        basis = terms / terms.sum(axis=1, keepdims=True)
        on_point = hit.any(axis=1)
        basis[on_point] = hit[on_point]
        step[row] = mass @ basis
    return step

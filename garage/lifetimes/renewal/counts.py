"""How likely numbers of failures within a distance are, each failed part being replaced at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.law import HazardLaw
from garage.lifetimes.renewal.grid import ConvolutionGrid
from garage.lifetimes.renewal.sequence import PartSequence, refuse_distances, settled

NEGLIGIBLE = 1e-10
"""Chance of too few failures below which enough of them are taken as certain; below the
agreement of the grids."""

SMALLEST_CHANCE = 1e-250
"""Chances below count as equal when grids are compared; nothing tells them apart in use."""


@dataclass(frozen=True, slots=True, eq=False)
class FailureCounts:
    """Chances of numbers of failures; made by `failure_counts`.

    Attributes
    ----------
    distances : array, shape (n,)
    at_least : array, shape (n, most + 2)
        Chance of k or more failures by each distance, for k from 0 to most + 1.
    """

    distances: FloatArray
    at_least: FloatArray

    @property
    def exactly(self) -> FloatArray:
        """Chance of exactly 0, 1, ..., most failures by each distance, shape (n, most + 1)."""
        return np.asarray(self.at_least[:, :-1] - self.at_least[:, 1:], np.float64)

    @property
    def more(self) -> FloatArray:
        """Chance of more than most failures by each distance, shape (n,)."""
        return self.at_least[:, -1]


def failure_counts(
    first: HazardLaw, later: HazardLaw, distances: ArrayLike, most: int, *, first_age: float = 0.0
) -> FailureCounts:
    """How likely is each number of failures by each of many distances?

    The chance of 1 or more, `at_least[:, 1]`, answers "has it had one already?" of a vehicle of
    which nothing is known but its distance. Taken as known: the place was in operation from
    distance 0 on, and each failed part was replaced at once. That a part works there now then
    says nothing more, for one always does; a vehicle given up at its first failure is not such
    a vehicle. Where it has been watched for a while, see `part_in_place`.

    Parameters
    ----------
    first, later : HazardLaw
        Of the part in place at the start, and of every part fitted after a failure.
    distances : array, shape (n,)
        At least 0, from the start, in the unit of the laws' scales.
    most : int
        At least 0; the largest number of failures told apart.
    first_age : float
        At least 0; what the first part has already run, unfailed, at the start.

    Returns
    -------
    FailureCounts
        Accurate to 1e-8 absolute for Weibull shapes from 0.5 to 5. Laws are taken as given, so
        the chances have no number of lives and no limits.

    Raises
    ------
    ValueError
        A negative or infinite distance or age, a negative `most`.
    ArithmeticError
        A distance of several hundred median lives.

    Notes
    -----
    G_1 = first law, given its age; G_(k + 1) = G_k convolved with the later law; the chance of
    exactly k failures is G_k - G_(k + 1) (Cox, Renewal Theory, 1962, chapter 3; from memory).
    The grid is that of `renewal_table`.

    Examples
    --------
    Pure chance with one failure expected: Poisson's law.

    >>> from garage.lifetimes.laws.weibull import WeibullLaw
    >>> law = WeibullLaw(shape=1.0, scale=100_000.0)
    >>> failure_counts(law, law, [100_000.0], most=2).exactly.round(4).tolist()
    [[0.3679, 0.3679, 0.1839]]
    """
    sequence = PartSequence(first, later, first_age)
    asked = np.atleast_1d(refuse_distances("distances", distances))
    if most < 0:
        raise ValueError(f"most must be at least 0; got {most}. Give a number of failures.")
    if not np.any(asked > 0.0):
        chances = np.zeros((len(asked), most + 2))
        chances[:, 0] = 1.0
        return FailureCounts(asked, chances)

    def solve(grid: ConvolutionGrid) -> tuple[FloatArray, FloatArray]:
        found = _at_least(sequence, grid, asked, most + 1)
        return found, found

    chances = settled(sequence, float(np.max(asked)), solve)
    chances[asked == 0.0, 1:] = 0.0
    return FailureCounts(asked, chances)


def renewal_count_probability(
    first: HazardLaw, later: HazardLaw, distance: float, k: int, *, first_age: float = 0.0
) -> float:
    """Say how likely k or more failures within `distance` are.

    Parameters
    ----------
    first, later, first_age
        As of `failure_counts`.
    distance : float
        At least 0, in the unit of the laws' scales.
    k : int
        At least 0.

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

    Examples
    --------
    Pure chance with one failure expected: 1 - 2 / e.

    >>> from garage.lifetimes.laws.weibull import WeibullLaw
    >>> law = WeibullLaw(shape=1.0, scale=100_000.0)
    >>> round(renewal_count_probability(law, law, 100_000.0, 2), 6)
    0.264241
    """
    sequence = PartSequence(first, later, first_age)
    refuse_distances("distance", distance)
    if k < 0:
        raise ValueError(f"k must be at least 0; got {k}. Give a number of failures.")
    if k == 0:
        return 1.0
    if distance == 0.0:
        return 0.0
    if k == 1:
        return float(sequence.first_chance(distance))
    # Fewer than k failures need one of k lives longer than an equal share of the distance.
    share = distance / k
    too_few = 1.0 - float(sequence.first_chance(share))
    too_few += (k - 1) * float(np.exp(-later.cumulative_hazard(share)))
    if too_few < NEGLIGIBLE:
        return 1.0

    def solve(grid: ConvolutionGrid) -> tuple[float, FloatArray]:
        found = _at_least(sequence, grid, np.array([distance]), k)[0, k]
        # Compared as a logarithm, so that the least likely is as good as the likely.
        return float(found), np.log(np.maximum([found], SMALLEST_CHANCE))

    return settled(sequence, distance, solve)


def _at_least(
    sequence: PartSequence, grid: ConvolutionGrid, distances: FloatArray, k: int
) -> FloatArray:
    """Chances of 0, 1, ..., k or more failures by distances on the grid, shape (n, k + 1)."""
    held = sequence.first_chance(grid.distances)
    columns = [np.ones(len(distances)), sequence.first_chance(distances)]
    for _ in range(k - 1):
        # One more failure is never likelier; the polynomials do not know that.
        held = np.clip(grid.convolved(held), 0.0, held)
        columns.append(np.clip(grid.at(held, distances), 0.0, columns[-1]))
    return np.stack(columns, axis=1)

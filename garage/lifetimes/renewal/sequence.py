"""Parts in one place, each replaced when it fails: their laws, and functions that they renew."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Self, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.law import HazardLaw, density
from garage.lifetimes.renewal.grid import ConvolutionGrid, Ends

AGREEMENT = 1e-8
"""Failures or chance by which a grid and one twice as fine may differ. The finer one, which is
used, is better by some orders of magnitude. Judgement, no source."""

WIDEST_PANEL = 4.0
"""Median lives that a panel of the first grid covers; grids are refined from there."""

MOST_PANELS = 1024
"""Panels tried; enough for a distance of about five hundred median lives."""

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class PartSequence:
    """A first part, already run for a while or not, and its successors.

    Parameters
    ----------
    first : HazardLaw
        Of the part in place at the start.
    later : HazardLaw
        Of every part fitted at a failure. The same as `first` makes an ordinary renewal process,
        another law a delayed one.
    first_age : float
        At least 0; what the first part has run unfailed before the start.
    """

    first: HazardLaw
    later: HazardLaw
    first_age: float = 0.0

    def __post_init__(self) -> None:
        refuse_distances("first_age", self.first_age)

    def first_chance(self, distances: ArrayLike) -> FloatArray:
        """Chance that the first part fails within each distance from the start."""
        start = self.first.cumulative_hazard(self.first_age)
        ages = self.first_age + np.asarray(distances, np.float64)
        return np.asarray(-np.expm1(start - self.first.cumulative_hazard(ages)), np.float64)

    def first_density(self, distances: FloatArray) -> FloatArray:
        """Chance per unit that the first part fails at each distance above 0 from the start."""
        start = self.first.cumulative_hazard(self.first_age)
        return np.asarray(
            density(self.first, self.first_age + distances) * np.exp(start), np.float64
        )


@dataclass(frozen=True, slots=True)
class Renewals:
    """Expected failures of a sequence on a grid; made by `renewals`."""

    sequence: PartSequence
    grid: ConvolutionGrid
    expected: FloatArray

    @classmethod
    def on(cls, sequence: PartSequence, grid: ConvolutionGrid) -> Self:
        """Solve the renewal equation M = first law + (M convolved with the later law)."""
        return cls(sequence, grid, grid.renewed(sequence.first_chance(grid.distances)))

    def expected_at(self, distances: FloatArray) -> FloatArray:
        """Expected failures by each distance."""
        found = self.grid.at(self.expected, distances)
        return np.where(distances > 0.0, np.maximum(found, 0.0), 0.0)

    def density_at(self, distances: FloatArray) -> FloatArray:
        """Expected failures per unit at each distance above 0."""
        # The first part's own share may be infinite at 0; what is left is smoother.
        left = self.expected - self.sequence.first_chance(self.grid.distances)
        found = self.sequence.first_density(distances) + self.grid.slope_at(left, distances)
        return np.maximum(found, 0.0)


def renewals(sequence: PartSequence, reach: float) -> Renewals:
    """Expected failures up to a distance above 0, on a grid fine enough."""
    look = np.linspace(0.0, reach, 101)[1:]

    def solved(grid: ConvolutionGrid) -> tuple[Renewals, FloatArray]:
        found = Renewals.on(sequence, grid)
        return found, found.expected_at(look)

    return settled(sequence, reach, solved)


def settled(
    sequence: PartSequence,
    reach: float,
    solve: Callable[[ConvolutionGrid], tuple[Found, FloatArray]],
) -> Found:
    """Solve on ever finer grids until two agree; `solve` gives what it found, and its figures.

    Raises
    ------
    ArithmeticError
        If no grid that is tried is fine enough.
    """
    laws = (sequence.first, sequence.later)
    before: FloatArray | None = None
    panels = max(1, int(np.ceil(reach / (WIDEST_PANEL * float(sequence.later.quantile(0.5))))))
    while panels <= MOST_PANELS:
        grid = ConvolutionGrid(sequence.later, Ends.of_laws(laws, reach / panels), panels)
        found, figures = solve(grid)
        if before is not None:
            apart = np.abs(figures - before) / np.maximum(np.abs(figures), 1.0)
            if float(apart.max(initial=0.0)) <= AGREEMENT:
                return found
        before = figures
        panels *= 2
    raise ArithmeticError(
        f"the failures within {reach} do not settle for {sequence}: the distance is too many "
        "lives long, or a law too steep. Ask for a shorter distance."
    )


def refuse_distances(name: str, given: ArrayLike, *, above_zero: bool = False) -> FloatArray:
    """The distances as an array, or a refusal."""
    distances = np.asarray(given, np.float64)
    low = distances <= 0.0 if above_zero else distances < 0.0
    bad = ~np.isfinite(distances) | low
    if np.any(bad):
        least = "above 0" if above_zero else "at least 0"
        raise ValueError(
            f"{name} must be finite and {least}; got {float(distances[bad].flat[0])}. Give it in "
            "the unit of the laws' scales."
        )
    return distances

"""Lives and shares of lives counted by vehicle and stretch of the clock, to be weighted anew."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from scipy.sparse import csr_array

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import placed
from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.resampling.expected_input import ExpectedLives
from garage.lifetimes.resampling.expected_shares import Shares

MOST_CELLS = 512
"""Stretches of the clock, each with as many failures. Judgement, no source: a curve is drawn
at some forty points, and where failures are fewer each has a stretch of its own."""

MOST_SINGLE = 4_000
"""Vehicles drawn one by one; of more, bags are drawn. Judgement, no source."""

BAGS = 1_000
"""Random bags of vehicles, drawn in place of them: a variance from so many is right within 4 %,
and a limit within 2 % of its distance. Judgement, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Stretches of the clock that hold failures, and where in them a clock value lies.

    Attributes
    ----------
    clock : array, shape (f,)
        Clock values with failures.
    of_step : array, shape (f + 1,)
        Stretch of each; the last is beyond all.
    after : array, shape (f + 1,)
        Of the failures in that stretch, the share at this clock value or later.
    last : array, shape (c,)
        Last failing clock value of each stretch.
    hazard : array, shape (c,)
        Minus the logarithm of the survival through each stretch; infinite where it falls to 0.
    """

    clock: IntArray
    of_step: IntArray
    after: FloatArray
    last: IntArray
    hazard: FloatArray

    @classmethod
    def of_steps(cls, steps: CurveSteps, points: FloatArray) -> Self:
        """Stretches that no point asked for divides, nor are there too many."""
        size = len(steps.clock)
        even = np.linspace(0, size, min(size, MOST_CELLS) + 1).round().astype(np.int64)
        asked = np.searchsorted(steps.clock, points, side="right")
        edges = np.unique(np.concatenate([even, asked]))
        begins, of_step = edges[:-1], np.repeat(np.arange(edges.size - 1), np.diff(edges))
        failures = steps.corrected.sum(axis=0)
        with np.errstate(divide="ignore"):
            each = -np.log1p(-steps.total_hazard)
        hazard, after = np.zeros(0), np.ones(0)
        if size:
            hazard = np.add.reduceat(each, begins)
            before = np.cumsum(failures) - failures
            inside = before - before[begins][of_step]
            after = 1 - inside / np.add.reduceat(failures, begins)[of_step]
        return cls(
            steps.clock,
            np.concatenate([of_step, [begins.size]]).astype(np.int64),
            np.concatenate([after, [1.0]]),
            steps.clock[edges[1:] - 1],
            np.asarray(hazard, np.float64),
        )

    @property
    def count(self) -> int:
        """How many stretches there are."""
        return int(self.last.size)

    def changes(self, bag: IntArray, clock: IntArray, change: FloatArray, bags: int) -> FloatArray:
        """Changes of the number at risk after these clock values, shape (bags, c + 1)."""
        step = _steps_after(self.clock, clock)
        cell, after = self.of_step[step], self.after[step]
        width = self.count + 2
        place = bag * width + cell
        size = bags * width
        found = np.bincount(place, change * after, size)
        found += np.bincount(place + 1, change * (1 - after), size)
        return np.asarray(found.reshape(bags, width)[:, : self.count], np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class BagCounts:
    """Lives summed by bag of vehicles: what does not hang on the visit law.

    Attributes
    ----------
    bag : array, shape (n,)
        Of each life.
    at_risk : array, shape (bags, c)
        As if no unfailed life ever left.
    """

    cells: Cells
    bag: IntArray
    bags: int
    vehicles: int
    at_risk: FloatArray
    _failures: csr_array
    _groups: int

    @classmethod
    def of(cls, lives: ExpectedLives, cells: Cells, rng: np.random.Generator) -> Self:
        """Each vehicle a bag of its own, or at random into so many."""
        vehicles = int(lives.cluster.max()) + 1 if lives.n else 0
        bags = vehicles
        bag = lives.cluster
        if vehicles > MOST_SINGLE:
            bags = BAGS
            bag = (rng.permutation(vehicles) % bags)[lives.cluster]
        failed = np.flatnonzero(lives.failed)
        change = cells.changes(bag, lives.entry, np.ones(lives.n), bags)
        change -= cells.changes(bag[failed], lives.exit[failed], np.ones(failed.size), bags)
        groups = int(lives.group.max()) + 1 if lives.n else 1
        step = np.searchsorted(cells.clock, lives.exit[failed])
        counted = step < cells.clock.size
        failed, step = failed[counted], step[counted]
        row = lives.group[failed] * cells.count + cells.of_step[step]
        failures = csr_array(
            (np.ones(failed.size), (row, bag[failed])), shape=(groups * cells.count, bags)
        )
        return cls(cells, bag, bags, vehicles, np.cumsum(change, axis=1), failures, groups)

    def risk(self, left: Iterable[Shares]) -> FloatArray:
        """Numbers at risk, shape (bags, c), of which these shares have left."""
        change = np.zeros_like(self.at_risk)
        for some in left:
            change += self.cells.changes(self.bag[some.life], some.clock, some.share, self.bags)
        return np.asarray(self.at_risk - np.cumsum(change, axis=1), np.float64)

    def entered(self, entry: IntArray) -> FloatArray:
        """How many of the lives with these entries have entered, all bags together."""
        one_bag = np.zeros(entry.size, np.int64)
        return np.asarray(
            np.cumsum(self.cells.changes(one_bag, entry, np.ones(entry.size), 1)[0]), np.float64
        )

    def left(self, shares: Iterable[Shares]) -> FloatArray:
        """How many of these shares have left, all bags together, shape (c,)."""
        change = np.zeros(self.cells.count)
        for some in shares:
            clock, share = some.by_clock()
            change += self.cells.changes(np.zeros(clock.size, np.int64), clock, share, 1)[0]
        return np.asarray(np.cumsum(change), np.float64)

    def failures(self, weights: FloatArray, shares: FloatArray) -> FloatArray:
        """Failures, shape (c, r), of weighted bags (bags, r), by capture shares (r, groups)."""
        seen = self._failures @ weights
        by_group = seen.reshape(self._groups, self.cells.count, weights.shape[1])
        return np.asarray(np.einsum("gcr,rg->cr", by_group, 1 / shares[:, : self._groups]))

    def once(self) -> FloatArray:
        """Every bag drawn once, shape (bags, 1)."""
        return np.ones((self.bags, 1))

    def draw(self, rng: np.random.Generator, repeats: int) -> FloatArray:
        """How often each bag is drawn, shape (bags, repeats), as many as there are."""
        drawn = [
            np.bincount(rng.integers(0, self.bags, self.bags), minlength=self.bags)
            for _ in range(repeats)
        ]
        return np.stack(drawn, axis=1).astype(np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Usual:
    """The curve that resamples are departures from: its failures and numbers at risk."""

    failures: FloatArray
    at_risk: FloatArray

    def heights(self, cells: Cells, failures: FloatArray, at_risk: FloatArray) -> FloatArray:
        """Survival at the end of each stretch, shape (c, r), the hazards scaled."""
        more = _ratio(failures, self.failures[:, None])
        fewer = _ratio(at_risk, self.at_risk[:, None])
        factor = np.divide(more, fewer, out=np.zeros_like(more), where=at_risk > 1e-9)
        if cells.count == cells.clock.size:
            # One failing clock value each: the product-limit estimate itself.
            through = 1 - np.minimum(-np.expm1(-cells.hazard)[:, None] * factor, 1.0)
        else:
            through = np.exp(-np.minimum(cells.hazard, 700.0)[:, None] * factor)
        return np.asarray(np.cumprod(through, axis=0), np.float64)


def _steps_after(ascending: IntArray, clock: IntArray) -> IntArray:
    """How many of the ascending values lie at or before each clock value."""
    values, place = placed(clock)
    return np.asarray(np.searchsorted(ascending, values, side="right"), np.int64)[place]


def _ratio(upper: FloatArray, lower: FloatArray) -> FloatArray:
    size = np.broadcast_shapes(upper.shape, lower.shape)
    return np.divide(upper, lower, out=np.zeros(size), where=lower > 0)


def median_clock(cells: Cells, heights: FloatArray, half: float) -> FloatArray:
    """First clock value, of each resample, at which half have failed; infinite if never."""
    reached = heights <= half
    first = np.argmax(reached, axis=0) if cells.count else np.zeros(heights.shape[1], int)
    clock = cells.last.astype(np.float64)[first] if cells.count else np.full(first.shape, np.inf)
    return np.where(reached.any(axis=0), clock, np.inf)


def at_points(cells: Cells, heights: FloatArray, points: Sequence[float]) -> FloatArray:
    """Heights, shape (r, points), of resamples at points that divide no stretch."""
    padded = np.concatenate([np.ones((1, heights.shape[1])), heights])
    place = np.searchsorted(cells.last, np.asarray(points, np.float64), side="right")
    return np.asarray(padded[place].T, np.float64)

"""Cox's partial likelihood of a grid of failures, with its slopes, at any coefficients."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.comparison.hazard_lives import FailureGrid

SummedTies = Literal["efron", "breslow"]
TiesKind = Literal["efron", "breslow", "exact"]
TIES_KINDS: tuple[TiesKind, ...] = ("efron", "breslow", "exact")

LAYER = 8.0
"""Of log relative hazards. Lives further apart are summed apart: in one running sum the rounding
of the large would drown the small that stay. exp(8) costs three or four of 16 digits."""

WIDEST_SPREAD = 600.0
"""Of log relative hazards; exp of half of it, either way, is still a number in float64."""


Layers = list[tuple[IntArray, BoolArray]]
"""Lives of like hazard, and at which failures any of them are at risk."""


@dataclass(frozen=True, eq=False)
class PartialLikelihood:
    """The likelihood as a sum of terms: one a failure (Efron) or a moment with one (Breslow).

    Attributes
    ----------
    number : array, shape (t,)
        Failure number of the grid that each term belongs to.
    share : array, shape (t,)
        Share of the tied failures that is taken to have gone already.
    weight : array, shape (t,)

    Notes
    -----
    Nothing is summed risk set by risk set: a sum over the lives at risk at each failure is a
    running sum of what enters and leaves, and the second moments that the information needs
    are one matrix product over lives, each with the hazard it ran. So one evaluation costs
    lives times covariates squared, whatever the number of failures.
    """

    grid: FailureGrid
    number: IntArray
    share: FloatArray
    weight: FloatArray

    @classmethod
    def of(cls, grid: FailureGrid, ties: SummedTies) -> "PartialLikelihood":
        """Lay out the terms."""
        count = len(grid.ties)
        where = grid.last.take(grid.failed) - 1
        total: FloatArray = np.asarray(
            np.bincount(where, grid.weight.take(grid.failed), count), np.float64
        )
        if ties == "breslow" or len(where) == count:
            return cls(grid, np.arange(count), np.zeros(count), total)
        number = np.repeat(np.arange(count), grid.ties)
        begin = np.cumsum(grid.ties) - grid.ties
        rank = np.arange(len(number)) - begin.take(number)
        tied = grid.ties.take(number)
        return cls(grid, number, rank / tied, total.take(number) / tied)

    @cached_property
    def failing(self) -> FloatArray:
        """Weighted sum of the covariates of the lives that failed, shape (p,)."""
        failed = self.grid.failed
        return self.grid.columns.take(failed, axis=1) @ self.grid.weight.take(failed)

    def at(self, coefficients: FloatArray) -> "LikelihoodPoint | None":
        """The likelihood at coefficients of the scaled columns; None where numbers give out."""
        grid = self.grid
        relative = coefficients @ grid.columns
        low, high = relative.min(), relative.max()
        if not high - low < WIDEST_SPREAD:
            return None
        middle = float(low + high) / 2
        relative -= middle
        hazard = np.exp(relative)
        hazard *= grid.weight
        layers = _layers(grid, relative) if high - low > LAYER else None
        total = self._over_terms(hazard, layers)
        if not np.all(total > 0):
            return None
        means = np.empty((grid.p, len(total)))
        for row, column in zip(means, grid.columns, strict=True):
            row[:] = self._over_terms(hazard * column, layers)
            row /= total
        failed = grid.failed
        value = float(grid.weight.take(failed) @ relative.take(failed))
        value -= float(self.weight @ np.log(total))
        score = self.failing - means @ self.weight
        return LikelihoodPoint(self, coefficients, value, score, middle, hazard, total, means)

    def _over_terms(self, values: FloatArray, layers: Layers | None) -> FloatArray:
        """Sum over lives at risk at each term, less the share of the tied that has gone."""
        summed = risk_sums(self.grid, values, layers).take(self.number)
        if np.any(self.share):
            failed = self.grid.failed
            where = self.grid.last.take(failed) - 1
            tied = np.bincount(where, values.take(failed), len(self.grid.ties))
            summed -= self.share * tied.take(self.number)
        return summed


@dataclass(frozen=True, eq=False)
class LikelihoodPoint:
    """The likelihood at one set of coefficients of the scaled columns.

    Attributes
    ----------
    value : float
        Log partial likelihood.
    score : array, shape (p,)
    middle : float
        Log relative hazard that stands for 1, so that no number is too large.
    hazard : array, shape (m,)
        Weighted relative hazard of each life.
    total : array, shape (t,)
        Sum of those at risk at each term; `means`, shape (p, t), their mean covariates.
    """

    likelihood: PartialLikelihood
    coefficients: FloatArray
    value: float
    score: FloatArray
    middle: float
    hazard: FloatArray
    total: FloatArray
    means: FloatArray

    @property
    def rounding(self) -> float:
        """By how much the value may be off: each term adds a rounding."""
        return float(np.finfo(np.float64).eps * len(self.total) * max(1.0, abs(self.value)))

    @cached_property
    def information(self) -> FloatArray:
        """Minus the second derivative of the likelihood, shape (p, p)."""
        return self.weighted_information(None)

    def weighted_information(self, factor: FloatArray | None) -> FloatArray:
        """The same, what each term adds taken times a factor, shape (t,)."""
        part = self.likelihood.weight if factor is None else self.likelihood.weight * factor
        columns = self.likelihood.grid.columns
        second = (columns * (self.hazard * self.gathered(part / self.total))) @ columns.T
        return np.asarray(second - (self.means * part) @ self.means.T, np.float64)

    def gathered(self, per_term: FloatArray) -> FloatArray:
        """What each life gathers of an amount per term while at risk, shape (m,).

        Of terms at its own failure it gathers only the share for which it was still there.
        """
        grid, number = self.likelihood.grid, self.likelihood.number
        count = len(grid.ties)
        running = np.zeros(count + 1)
        np.cumsum(np.bincount(number, per_term, count), out=running[1:])
        gathered = running.take(grid.last)
        gathered -= running.take(grid.first)
        if np.any(self.likelihood.share):
            gone = np.bincount(number, per_term * self.likelihood.share, count)
            gathered[grid.failed] -= gone.take(grid.last.take(grid.failed) - 1)
        return gathered


def risk_sums(grid: FailureGrid, values: FloatArray, layers: Layers | None = None) -> FloatArray:
    """Sum over the lives at risk at each failure number, shape (g,).

    Added up from the end of the clock, where few are at risk: from its start the small sums
    there would be differences of large ones.
    """
    if layers is None:
        return _running(grid.first, grid.last, values, len(grid.ties))
    total = np.zeros(len(grid.ties))
    for lives, there in layers:
        first, last = grid.first.take(lives), grid.last.take(lives)
        summed = _running(first, last, values.take(lives), len(total))
        # Where none of them is left the sum is 0, and not what rounding made of it.
        total[there] += summed[there]
    return total


def _running(first: IntArray, last: IntArray, values: FloatArray, count: int) -> FloatArray:
    change = np.bincount(last, values, count + 1)
    change -= np.bincount(first, values, count + 1)
    return np.asarray(np.cumsum(change[:0:-1])[::-1], np.float64)


def _layers(grid: FailureGrid, relative: FloatArray) -> Layers:
    number = np.floor((relative - relative.min()) / LAYER).astype(np.int64)
    layers: Layers = []
    for each in np.unique(number):
        lives = np.flatnonzero(number == each)
        first, last = grid.first.take(lives), grid.last.take(lives)
        there = _running(first, last, np.ones(len(lives)), len(grid.ties)) > 0
        layers.append((lives, there))
    return layers

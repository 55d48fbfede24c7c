"""Sums of weights times powers of the clock, over very many rows, for one power after another."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray

MANY_ROWS = 20_000
"""Rows from which bins pay: a fit asks for some 150 sums, and filling bins takes as long as ten.
Measured."""

BIN_WIDTH = 0.002
"""Of the logarithm of the clock."""

TERMS = 8
"""Of the series for the power within a bin."""

LARGEST_REACH = 0.04
"""Shape times half a bin up to which the series is as exact as adding up the rows: what it
leaves out is below 0.04 ** 8 / 8! = 2e-16 of a row. A larger shape adds up the rows."""


@dataclass(frozen=True, slots=True, eq=False)
class PowerSums:
    """M(shape), the sum of weight * exp(shape * log), and its derivatives by shape.

    Attributes
    ----------
    logs, weights : arrays, shape (r,)
    bins : LogBins or None
        Where many rows stand in ascending order.
    """

    logs: FloatArray
    weights: FloatArray
    bins: "LogBins | None"

    @classmethod
    def of(cls, logs: FloatArray, weights: FloatArray, *, ascending: bool) -> Self:
        """Rows as they are; in bins as well where they are many, and ascending."""
        binned = ascending and len(logs) >= MANY_ROWS
        return cls(logs, weights, LogBins.of(logs, weights) if binned else None)

    def total(self, shape: float) -> float:
        """M at this shape."""
        if self.bins is not None and shape <= LARGEST_SHAPE:
            return self.bins.total(shape)
        return float(self._powers(shape).sum())

    def with_slopes(self, shape: float) -> tuple[float, float, float]:
        """M at this shape, its first and its second derivative."""
        if self.bins is not None and shape <= LARGEST_SHAPE:
            return self.bins.with_slopes(shape)
        powers = self._powers(shape)
        rising = powers * self.logs
        return float(powers.sum()), float(rising.sum()), float((rising * self.logs).sum())

    def _powers(self, shape: float) -> FloatArray:
        powers = np.exp(shape * self.logs)
        # Multiplied and added up, not `@`: on a busy machine the threads that a long inner
        # product starts wait for each other ten times as long as it takes.
        powers *= self.weights
        return powers


LARGEST_SHAPE = LARGEST_REACH / (BIN_WIDTH / 2)


@dataclass(frozen=True, slots=True, eq=False)
class LogBins:
    """Rows put together by logarithm, each bin with the terms of its power series.

    With a log at distance x from the middle m of its bin, exp(shape * log) is exp(shape * m)
    times the sum of (shape * x) ** k / k!. The sums of weight * x ** k / k! are all that is
    kept of the rows.

    Attributes
    ----------
    middles : array, shape (b,)
    terms : array, shape (TERMS, b)
    """

    middles: FloatArray
    terms: FloatArray

    @classmethod
    def of(cls, logs: FloatArray, weights: FloatArray) -> Self:
        """Put ascending logs in bins."""
        edges = np.arange(logs[0], logs[-1] + BIN_WIDTH, BIN_WIDTH)
        starts = np.searchsorted(logs, edges)
        held = np.diff(starts, append=len(logs)) > 0
        middles, starts = edges[held] + BIN_WIDTH / 2, starts[held]
        away = logs - np.repeat(middles, np.diff(starts, append=len(logs)))
        term, terms = weights.copy(), np.empty((TERMS, len(middles)))
        np.add.reduceat(term, starts, out=terms[0])
        for power in range(1, TERMS):
            term *= away
            np.add.reduceat(term, starts, out=terms[power])
            terms[power] /= _FACTORIALS[power]
        return cls(middles, terms)

    def total(self, shape: float) -> float:
        """As of `PowerSums`."""
        return float(np.exp(shape * self.middles) @ (shape**_POWERS @ self.terms))

    def with_slopes(self, shape: float) -> tuple[float, float, float]:
        """As of `PowerSums`."""
        raised = shape**_POWERS
        first = np.concatenate([[0.0], _POWERS[1:] * raised[:-1]])
        second = np.concatenate([[0.0], _POWERS[1:] * first[:-1]])
        within, rising, bending = np.stack([raised, first, second]) @ self.terms
        outer = np.exp(shape * self.middles)
        along = within * self.middles
        bending += (2 * rising + along) * self.middles
        rising += along
        return float(outer @ within), float(outer @ rising), float(outer @ bending)


_POWERS = np.arange(TERMS, dtype=np.float64)
_FACTORIALS = np.cumprod(np.maximum(_POWERS, 1.0))

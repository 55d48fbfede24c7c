"""The exact partial likelihood of tied failures, which counts every way they could have fallen."""

from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np
from scipy.special import expit, logit

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.comparison.hazard_lives import FailureGrid, HazardLives
from garage.lifetimes.comparison.partial_likelihood import (
    LikelihoodPoint,
    PartialLikelihood,
    TiesKind,
    risk_sums,
)
from garage.lifetimes.life_rows import refuse_first

MOST_SUMS = 300_000_000
"""Running sums that one look at the likelihood may take. At some 10 ns each a look then takes 3
seconds, and a fit of five to ten looks half a minute. Judgement, no source."""

BLOCK = 60_000
"""Running sums that are held at once; half a megabyte stays in the processor's fast memory."""

NEAR_ENOUGH = 0.1
"""Of a log tilt. Of n lives at a tilt off by this the wanted number still fails with a chance
above exp(-n / 800) of its highest, which is far from any number's end."""


def refuse_exact(lives: HazardLives) -> None:
    """Refuse what the exact form does not define: weights other than 1, and clusters."""
    if lives.cluster is not None:
        raise ValueError(
            "exact ties come without clusters: what one life adds to the slope is not defined, "
            "for tied failures are judged together; leave `cluster` out, or take ties='efron'"
        )
    if lives.weight is not None:
        weight = np.asarray(lives.weight, np.float64)
        rule = "exact ties take each row as one life, of weight 1; repeat rows, or take 'efron'"
        refuse_first(weight != 1, rule, weight)


def likelihood_of(grid: FailureGrid, ties: TiesKind) -> "PartialLikelihood | ExactLikelihood":
    """The partial likelihood of a grid under one treatment of ties."""
    return ExactLikelihood.of(grid) if ties == "exact" else PartialLikelihood.of(grid, ties)


@dataclass(frozen=True, eq=False)
class ExactLikelihood:
    """The likelihood of which lives failed at each clock value, given how many did.

    Attributes
    ----------
    alone : PartialLikelihood
        With terms for the clock values at which one life failed, where all forms agree; its
        first part, the covariates of the failed, is that of all.
    number : array of int64, shape (g,)
        Failure number of each term; there is one term for each.
    weight : array, shape (g,)
        Ones.

    Notes
    -----
    Of n lives at risk with hazards w the d failures had the chance prod(w of the failed) / e,
    e being the sum of such products over all choices of d lives. By Gail, Lubin and
    Rubinstein's recursion e is found life after life: each either fails or does not. All w
    are first tilted by one factor s, and each factor 1 + s w is taken out: then the running
    sums are chances of how many of the lives so far fail, where life i fails with chance
    s w / (1 + s w), and none can overflow; s makes d of them fail on average, so that the last
    is not small either. Slope and curvature are the mean and the covariance of the sum of
    covariates over the d, carried along in the same recursion. So a look at the likelihood
    takes at-risk times tied running sums at each clock value with ties, times the (p + 1)
    (p + 2) / 2 moments of p covariates.
    """

    grid: FailureGrid
    alone: PartialLikelihood
    number: IntArray
    weight: FloatArray
    whole: BoolArray
    blocks: tuple["_Block", ...]

    @classmethod
    def of(cls, grid: FailureGrid) -> Self:
        """Lay out the terms; a ValueError where there would be too many running sums."""
        count = len(grid.ties)
        at_risk = np.rint(risk_sums(grid, np.ones(len(grid.first)))).astype(np.int64)
        # Where all at risk failed there was no choice.
        whole = (grid.ties > 1) & (grid.ties == at_risk)
        tied = np.flatnonzero((grid.ties > 1) & ~whole)
        moments = (grid.p + 1) * (grid.p + 2) // 2
        sums = float(at_risk.take(tied).astype(np.float64) @ grid.ties.take(tied)) * moments
        if sums > MOST_SUMS:
            raise ValueError(
                "exact ties take the sum, over clock values, of lives at risk times failures "
                f"times {moments} moments, at most {MOST_SUMS:.3g}; got {sums:.3g}. Take "
                "ties='efron', which differs little where few of those at risk fail at once, or "
                "a finer clock."
            )
        one = np.flatnonzero(grid.ties == 1)
        return cls(
            grid=grid,
            alone=PartialLikelihood(grid, one, np.zeros(len(one)), np.ones(len(one))),
            number=np.arange(count),
            weight=np.ones(count),
            whole=whole,
            blocks=_blocks(grid, tied, at_risk, moments),
        )

    def at(self, coefficients: FloatArray) -> "ExactPoint | None":
        """The likelihood at coefficients of the scaled columns; None where numbers give out."""
        grid = self.grid
        alone = self.alone.at(coefficients)
        if alone is None:
            return None
        relative = coefficients @ grid.columns - alone.middle
        means = np.zeros((grid.p, len(grid.ties)))
        means[:, self.alone.number] = alone.means
        for row, column in zip(means, grid.columns, strict=True):
            row[self.whole] = risk_sums(grid, column)[self.whole]
        spread = np.zeros((len(grid.ties), grid.p, grid.p))
        value = alone.value - float(risk_sums(grid, relative)[self.whole].sum())
        for block in self.blocks:
            logs, middle, covariance = block.summed(relative, grid.columns)
            value -= float(logs.sum())
            means[:, block.number] = middle
            spread[block.number] = covariance
        score = self.alone.failing - means.sum(axis=1)
        return ExactPoint(self, coefficients, value, score, alone, means, spread)


@dataclass(frozen=True, eq=False)
class ExactPoint:
    """The exact likelihood at one set of coefficients of the scaled columns.

    Attributes
    ----------
    value : float
        Log partial likelihood.
    score : array, shape (p,)
    alone : LikelihoodPoint
        Of the failures without ties.
    means : array, shape (p, g)
        Expected sum of the covariates of those that fail at each failure number.
    spread : array, shape (g, p, p)
        Covariance of that sum; 0 where there are no ties.
    """

    likelihood: ExactLikelihood
    coefficients: FloatArray
    value: float
    score: FloatArray
    alone: LikelihoodPoint
    means: FloatArray
    spread: FloatArray

    @cached_property
    def information(self) -> FloatArray:
        """Minus the second derivative of the likelihood, shape (p, p)."""
        return self.weighted_information(self.likelihood.weight)

    @property
    def rounding(self) -> float:
        """By how much the value may be off: each life at risk adds a rounding."""
        added = len(self.means.T) + sum(each.there.sum() for each in self.likelihood.blocks)
        return float(np.finfo(np.float64).eps * added * max(1.0, abs(self.value)))

    def weighted_information(self, factor: FloatArray) -> FloatArray:
        """The same, what each failure number adds taken times a factor, shape (g,)."""
        alone = self.alone.weighted_information(factor.take(self.likelihood.alone.number))
        return np.asarray(alone + np.tensordot(factor, self.spread, 1), np.float64)


@dataclass(frozen=True, eq=False)
class _Block:
    """Failure numbers whose running sums are taken side by side.

    `number` and `chosen`, the failures, have shape (b,); `lives`, places on the grid, and
    `there`, whether it is one, (b, n): rows with fewer at risk are filled up.
    """

    number: IntArray
    chosen: IntArray
    lives: IntArray
    there: BoolArray

    def summed(
        self, relative: FloatArray, columns: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Log sum over all choices, and mean (p, b) and covariance (b, p, p) over them."""
        log_hazard = np.where(self.there, relative.take(self.lives), -np.inf)
        tilt = self._tilt(log_hazard)
        tilted = log_hazard + tilt[:, None]
        fails, stays = expit(tilted), expit(-tilted)
        taken_out = np.logaddexp(0.0, tilted).sum(axis=1) - self.chosen * tilt
        given = columns.take(self.lives, axis=1)
        # Taken from near their mean, so that the covariance is no difference of large numbers.
        centre = np.einsum("bn,pbn->pb", fails, given) / self.chosen
        chance, first, second = _moments(fails, stays, given - centre[:, :, None], self.chosen)
        first, second = first / chance, second / chance
        p = len(columns)
        covariance = np.empty((len(self.chosen), p, p))
        for each, (row, column) in enumerate(zip(*np.triu_indices(p), strict=True)):
            own = second[each] - first[row] * first[column]
            covariance[:, row, column] = covariance[:, column, row] = own
        return taken_out + np.log(chance), first + centre * self.chosen, covariance

    def _tilt(self, log_hazard: FloatArray) -> FloatArray:
        """Log of the factor on hazards at which about as many fail on average as did."""
        even = logit(self.chosen / self.there.sum(axis=1))
        low = even - log_hazard.max(axis=1)
        high = even - np.where(self.there, log_hazard, np.inf).min(axis=1)
        while np.max(high - low) > NEAR_ENOUGH:
            middle = (low + high) / 2
            over = expit(log_hazard + middle[:, None]).sum(axis=1) > self.chosen
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        return np.asarray((low + high) / 2, np.float64)


def _moments(
    fails: FloatArray, stays: FloatArray, given: FloatArray, chosen: IntArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chance that `chosen` lives fail, times 1, their covariates' sum, and its products.

    Shapes (b,), (p, b) and (p (p + 1) / 2, b), the upper triangle row by row.
    """
    p, b, n = given.shape
    one, other = np.triu_indices(p)
    sums = np.zeros((1 + p + len(one), b, int(chosen.max()) + 1))
    sums[0, :, 0] = 1.0
    chance, first, second = sums[:1], sums[1 : p + 1], sums[p + 1 :]
    by_life = np.ascontiguousarray(given.transpose(2, 0, 1))[..., None]
    for life in range(n):
        x = by_life[life]
        come = sums[:, :, :-1] * fails[:, life, None]
        sums *= stays[:, life, None]
        come_chance, come_first = come[:1], come[1 : p + 1]
        # (S + x)(S + x)' = S S' + x S' + (S + x) x', and S + x is wanted as well.
        come[p + 1 :] += x[one] * come_first[other]
        come_first += x * come_chance
        come[p + 1 :] += come_first[one] * x[other]
        sums[:, :, 1:] += come
    row = np.arange(b)
    return chance[0, row, chosen], first[:, row, chosen], second[:, row, chosen]


def _blocks(
    grid: FailureGrid, tied: IntArray, at_risk: IntArray, moments: int
) -> tuple[_Block, ...]:
    """Failure numbers of like size together, so that little is filled up."""
    tied = tied[np.lexsort((at_risk[tied], grid.ties[tied]))]
    blocks, begin, own = [], 0, 0.0
    for place, number in enumerate(tied):
        size = float(at_risk[number] * grid.ties[number])
        together = tied[begin : place + 1]
        filled = len(together) * float(at_risk[together].max() * grid.ties[number])
        held = len(together) * int(grid.ties[number] + 1) * moments
        if place > begin and (filled > 2 * (own + size) or held > BLOCK):
            blocks.append(_block(grid, tied[begin:place]))
            begin, own = place, 0.0
        own += size
    if begin < len(tied):
        blocks.append(_block(grid, tied[begin:]))
    return tuple(blocks)


def _block(grid: FailureGrid, number: IntArray) -> _Block:
    # Row by row: a mask of all lives for all rows at once would be far larger than the block.
    inside = [np.flatnonzero((grid.first <= each) & (each < grid.last)) for each in number]
    count = np.array([len(each) for each in inside])
    there = np.arange(int(count.max())) < count[:, None]
    lives = np.zeros(there.shape, np.int64)
    lives[there] = np.concatenate(inside)
    return _Block(number, grid.ties.take(number), lives, there)

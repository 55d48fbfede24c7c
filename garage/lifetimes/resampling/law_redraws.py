"""Visit laws drawn anew, and how many more or fewer lives they leave at risk."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.resampling.expected_estimate import ExpectedEstimate
from garage.lifetimes.resampling.expected_input import VisitGroup
from garage.lifetimes.resampling.expected_shares import Silences
from garage.lifetimes.resampling.expected_steps import BagCounts
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import VisitFit

SILENT_SAMPLE = 4_000
"""Silent lives, drawn at random, on which redrawn laws are tried. Judgement, no source: they are
the same for all laws, so that what a law changes is known within a few hundredths of itself."""


@dataclass(frozen=True, slots=True, eq=False)
class LawRedraws:
    """What redrawn laws are tried on.

    Attributes
    ----------
    sample : array of int
        Silent lives.
    stayed : array, shape (c,)
        How many of them are at risk, by the law as fitted.
    silent : array, shape (c,)
        The same of all silent lives.
    """

    estimate: ExpectedEstimate
    visits: Sequence[VisitGroup]
    counts: BagCounts
    sample: IntArray
    stayed: FloatArray
    silent: FloatArray
    scores: dict[int, FloatArray]

    @classmethod
    def of(
        cls,
        estimate: ExpectedEstimate,
        visits: Sequence[VisitGroup],
        counts: BagCounts,
        rng: np.random.Generator,
    ) -> Self:
        """Sample the silent lives of an estimate."""
        life = estimate.silences.life
        sample = life
        if life.size > SILENT_SAMPLE:
            sample = np.sort(rng.permutation(life)[:SILENT_SAMPLE])
        silences = Silences.judged(estimate.lives, visits, [each.law for each in visits], sample)
        silent = _at_risk(estimate, counts, estimate.silences)
        scores = {id(group.fit): group.fit.scores() for group in visits}
        stayed = _at_risk(estimate, counts, silences)
        return cls(estimate, visits, counts, sample, stayed, silent, scores)

    def factor(self, at_risk: FloatArray, rng: np.random.Generator) -> FloatArray:
        """By how much laws drawn anew change the numbers at risk, shape (c,).

        Groups that share a fit get the same law: its doubt is one.
        """
        fits = {id(group.fit): group.fit for group in self.visits}
        drawn = {each: _redrawn(fit, self.scores[each], rng) for each, fit in fits.items()}
        laws = [drawn[id(group.fit)] for group in self.visits]
        silences = Silences.judged(self.estimate.lives, self.visits, laws, self.sample)
        stayed = _at_risk(self.estimate, self.counts, silences)
        change = np.divide(stayed, self.stayed, out=np.ones_like(stayed), where=self.stayed > 0) - 1
        part = np.divide(self.silent, at_risk, out=np.zeros_like(at_risk), where=at_risk > 0)
        return np.asarray(1 + np.minimum(part, 1.0) * change, np.float64)


def _redrawn(fit: VisitFit, scores: FloatArray, rng: np.random.Generator) -> VisitLaw:
    weight = fit.weight
    drawn = rng.multinomial(round(float(weight.sum())), weight / weight.sum())
    return fit.redrawn(drawn, scores)


def _at_risk(estimate: ExpectedEstimate, counts: BagCounts, silences: Silences) -> FloatArray:
    entered = counts.entered(estimate.lives.entry[silences.life])
    left = counts.left(estimate.silent_left(silences))
    return np.asarray(np.maximum(entered - left, 0.0), np.float64)

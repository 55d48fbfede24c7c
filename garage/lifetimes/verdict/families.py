"""Family rates against the base law, and which of them are surely a weakness of design."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, gammaincinv

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.verdict.em import (
    MixtureData,
    MixtureState,
    fitter_rate_of_life,
    wear_gain,
)

# A family whose rate surely exceeds this is a matter of design: its lives tell nothing of normal
# life. Judgement, no source; below it lies what duty and drivers do.
DESIGN_LIMIT = 2.0
# ... surely: with this chance. Judgement, no source.
DESIGN_CONFIDENCE = 0.95


@dataclass(frozen=True)
class RatePosterior:
    """Gamma posterior (prior mean 1) of every family's rate against the base law, by code."""

    n: IntArray
    failed: FloatArray
    expected: FloatArray
    prior_shape: float

    @property
    def mean(self) -> FloatArray:
        """Posterior mean of each rate."""
        return (self.failed + self.prior_shape) / (self.expected + self.prior_shape)

    def limit(self, chance: float) -> FloatArray:
        """The rate below which the posterior puts `chance`."""
        shape = self.failed + self.prior_shape
        found = gammaincinv(shape, chance) / (self.expected + self.prior_shape)
        return np.asarray(found, dtype=np.float64)


def rate_posterior(
    data: MixtureData, state: MixtureState, prior_shape: float, worn: FloatArray
) -> RatePosterior:
    """Failures of each family against those that the base law expects of the same parts."""
    base_gain, _, _ = wear_gain(data, state, np.zeros(data.n, dtype=np.int64))
    exposed = worn * base_gain * state.origin_rate[data.origin]
    exposed = exposed * fitter_rate_of_life(data, state)
    return RatePosterior(
        n=np.bincount(data.family, minlength=data.families).astype(np.int64),
        failed=_summed(data.family, worn * data.lives.failed, data.families),
        expected=_summed(data.family, exposed, data.families),
        prior_shape=prior_shape,
    )


def _summed(code: IntArray, amount: FloatArray, size: int) -> FloatArray:
    return np.asarray(np.bincount(code, amount, size), dtype=np.float64)


def weak_families(state: MixtureState, posterior: RatePosterior) -> IntArray:
    """Families still on the base law whose rate surely exceeds the limit of design.

    Without a given normal life they are held against the sounder half of the families, pooled:
    the mean of all families is no reference where one of two, or the largest, is the weak one.
    """
    on_base = np.flatnonzero((state.law_of_family == 0) & (posterior.n > 0))
    failed, expected = posterior.failed[on_base], posterior.expected[on_base]
    tail, prior = 1.0 - DESIGN_CONFIDENCE, posterior.prior_shape
    if state.base_is_given:
        lower = gammaincinv(failed + prior, tail) / (expected + prior)
        return on_base[lower > DESIGN_LIMIT]
    sounder = np.argsort(posterior.mean[on_base], kind="stable")[: (on_base.size + 1) // 2]
    reference_failed = float(failed[sounder].sum()) + prior
    reference_rate = reference_failed / (float(expected[sounder].sum()) + prior)
    shape = failed + prior
    # The ratio of two gamma variates is that of a beta variate to its complement.
    odds = betaincinv(shape, reference_failed, tail)
    lower = odds / (1.0 - odds) * reference_failed / (expected * reference_rate + prior)
    lower[sounder] = 0.0
    return on_base[lower > DESIGN_LIMIT]

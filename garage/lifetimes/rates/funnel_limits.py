"""The limits of a funnel: where a unit's figure lies if the unit is like the target."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from scipy.special import bdtr, betainc, betaln, gammaln, pdtr

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import check_level
from garage.lifetimes.life_rows import refuse_first
from garage.lifetimes.rates.columns import columns_of

LARGEST_BETA_BINOMIAL = 1_000_000
"""Chances of one unit up to which the beta-binomial sums are made term by term."""


class FunnelKind(StrEnum):
    """What a unit's figure is."""

    RATIO = "ratio"
    """Events over the events expected (or over exposure): counts are Poisson."""
    SHARE = "share"
    """Cases of a number of chances: counts are binomial."""


@dataclass(frozen=True, slots=True)
class FunnelLaw:
    """How the counts of units like the target vary.

    Parameters
    ----------
    kind : FunnelKind
    target : float
        Above 0; below 1 for a share.
    inflation : float
        Square root of the multiplicative over-dispersion, at least 1; limits lie that many
        times further from the target.
    between_variance : float
        Variance of the units' true figures about the target, 0 or more; their law is a gamma
        law for ratios, a beta law for shares.
    """

    kind: FunnelKind
    target: float
    inflation: float = 1.0
    between_variance: float = 0.0

    def __post_init__(self) -> None:
        top = np.inf if self.kind is FunnelKind.RATIO else 1.0
        if not (0.0 < self.target < top and np.isfinite(self.target)):
            raise ValueError(
                f"the target of a funnel lies above 0, for shares also below 1; got {self.target}"
            )
        if not (self.inflation >= 1.0 and np.isfinite(self.inflation)):
            raise ValueError(f"limits are inflated by 1 or more; got {self.inflation}")
        room = self.target * (1 - self.target) if self.kind is FunnelKind.SHARE else np.inf
        if not 0.0 <= self.between_variance < room:
            raise ValueError(
                "the variance between units is 0 or more, for shares less than target x (1 - "
                f"target); got {self.between_variance} at target {self.target}"
            )


@dataclass(frozen=True, slots=True, eq=False)
class FunnelLimits:
    """Prediction limits at each size, for one level.

    Attributes
    ----------
    size : array, shape (n,)
    lower, upper : arrays, shape (n,)
        Limits as they are drawn: between two counts, so that they are smooth in the size;
        lower ones below 0 are 0, upper ones above 1 are 1 for shares.
    least, most : arrays of int, shape (n,)
        Fewest and most events that lie inside. Fewer, or more, have at most a chance of half of
        what the level leaves out. A point between the drawn line and the next whole count is
        inside: *judge by these*, draw by the others.
    """

    size: FloatArray
    lower: FloatArray
    upper: FloatArray
    least: IntArray
    most: IntArray
    level: float


def funnel_limits(size: npt.ArrayLike, law: FunnelLaw, *, level: float = 0.95) -> FunnelLimits:
    """Say between which limits the figures of units like the target lie.

    These are prediction limits about a target. Confidence limits about a unit's own count
    answer another question: two units whose confidence limits overlap the target may lie
    outside the funnel, and the reverse.

    Parameters
    ----------
    size : array, shape (n,)
        Expected events (at target 1) or exposure, above 0; for shares the whole number of
        chances, at least 1.
    law : FunnelLaw
    level : float
        Two-sided, such as 0.95 and 0.998.

    Returns
    -------
    FunnelLimits

    Raises
    ------
    ValueError
        A size that is none, a level outside (0, 1).

    Notes
    -----
    With r the smallest count whose distribution function exceeds p, the drawn limit is (r - a) /
    size, a = (F(r) - p) / (F(r) - F(r - 1)): Spiegelhalter, Statistics in Medicine 24, 2005,
    pages 1185-1202, appendix A.1 (from memory). The counts are exact. Multiplicative
    over-dispersion moves both limits away from the target by its square root. Additive
    over-dispersion is, instead of the normal limits printed there, that of the mixed law with
    the same variance: negative binomial for ratios, beta-binomial for shares (whose variance
    is s^2 + (1 - 1 / n) times that between units); in large units the normal limits, but for
    the skewness of the gamma or beta law.

    Examples
    --------
    >>> law = FunnelLaw(FunnelKind.SHARE, target=0.1)
    >>> limits = funnel_limits([20, 200], law)
    >>> limits.lower.round(3).tolist(), limits.upper.round(3).tolist()
    ([0.0, 0.058], [0.228, 0.141])
    >>> limits.least.tolist(), limits.most.tolist()
    ([0, 12], [5, 29])
    """
    check_level(level)
    sizes = checked_sizes(size, law.kind)
    tail = (1.0 - level) / 2.0
    drawn, counts = [], []
    for share in (tail, 1.0 - tail):
        count = _first_count_above(sizes, law, share)
        at, before = _chance_up_to(count, sizes, law), _chance_up_to(count - 1, sizes, law)
        drawn.append((count - (at - share) / (at - before)) / sizes)
        counts.append(count)
    widened = [law.target + law.inflation * (each - law.target) for each in drawn]
    inside = [law.target + law.inflation * (each / sizes - law.target) for each in counts]
    top = 1.0 if law.kind is FunnelKind.SHARE else np.inf
    # Rounding must not push the last count inside out of the funnel.
    least = np.ceil(inside[0] * sizes * (1 - np.sign(inside[0]) * 1e-12))
    most = np.floor(inside[1] * sizes * (1 + 1e-12))
    return FunnelLimits(
        size=sizes,
        lower=np.clip(widened[0], 0.0, top),
        upper=np.clip(widened[1], 0.0, top),
        least=np.maximum(least, 0).astype(np.int64),
        most=np.minimum(most, sizes if law.kind is FunnelKind.SHARE else np.inf).astype(np.int64),
        level=level,
    )


def checked_sizes(size: npt.ArrayLike, kind: FunnelKind) -> FloatArray:
    """Sizes as floats; the first that is none is named."""
    (sizes,) = columns_of(size=size)
    wrong = ~(np.isfinite(sizes) & (sizes > 0))
    if kind is FunnelKind.SHARE:
        wrong |= sizes != np.floor(sizes)
    rule = "a size is above 0, for shares a whole number of chances (leave out units without any)"
    refuse_first(wrong, rule, sizes)
    return sizes


def _first_count_above(sizes: FloatArray, law: FunnelLaw, share: float) -> FloatArray:
    """Smallest count whose distribution function exceeds `share`, by halving."""
    low = np.full(len(sizes), -1.0)
    high = sizes.copy() if law.kind is FunnelKind.SHARE else np.ceil(sizes * law.target) + 1
    if law.kind is FunnelKind.RATIO:
        while np.any(short := _chance_up_to(high, sizes, law) <= share):
            high[short] *= 2
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        above = _chance_up_to(middle, sizes, law) > share
        high, low = np.where(above, middle, high), np.where(above, low, middle)
    return high


def _chance_up_to(count: FloatArray, sizes: FloatArray, law: FunnelLaw) -> FloatArray:
    """Chance of at most `count` events at each size; 0 below 0."""
    at = np.maximum(count, 0.0)
    if law.kind is FunnelKind.RATIO and law.between_variance == 0.0:
        chance = pdtr(at, sizes * law.target)
    elif law.kind is FunnelKind.RATIO:
        shape = law.target**2 / law.between_variance
        mean = sizes * law.target
        chance = betainc(shape, at + 1.0, shape / (shape + mean))
    elif law.between_variance == 0.0:
        chance = bdtr(at, sizes.astype(np.int64), law.target)
    else:
        chance = _beta_binomial_up_to(at, sizes, law)
    return np.where(count < 0, 0.0, chance)


def _beta_binomial_up_to(count: FloatArray, sizes: FloatArray, law: FunnelLaw) -> FloatArray:
    if sizes.max() > LARGEST_BETA_BINOMIAL:
        raise ValueError(
            f"shares that differ between units are summed for up to {LARGEST_BETA_BINOMIAL} "
            f"chances a unit; got {sizes.max():.0f}. Take multiplicative over-dispersion."
        )
    precision = law.target * (1 - law.target) / law.between_variance - 1.0
    alpha, beta = law.target * precision, (1 - law.target) * precision
    chance = np.empty(len(sizes))
    for place, (n, up_to) in enumerate(zip(sizes, count, strict=True)):
        k = np.arange(up_to + 1)
        ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
        terms = np.exp(ways + betaln(k + alpha, n - k + beta) - betaln(alpha, beta))
        chance[place] = min(float(terms.sum()), 1.0) if up_to < n else 1.0
    return chance

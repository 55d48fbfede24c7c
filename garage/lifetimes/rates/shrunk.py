"""Many groups' rates, each drawn towards what the groups share."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.special import digamma, gammaincinv, gammaln

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import check_level
from garage.lifetimes.life_rows import refuse_first
from garage.lifetimes.rates.columns import columns_of, no_count
from garage.lifetimes.rates.poisson import poisson_rate
from garage.lifetimes.status import Status

# The moment iteration stops when neither parameter moves by more than this share.
MOMENT_TOLERANCE = 1e-9
LARGEST_MOMENT_STEPS = 1_000
# The likelihood's slope, a group, below which its search counts as settled.
LARGEST_SLOPE = 1e-6


@dataclass(frozen=True, slots=True)
class GammaPrior:
    """How the rates of `n` groups are spread: a gamma law, mean shape / rate.

    Where the groups differ no more than chance makes them, shape and rate are None and `mean` is
    the pooled rate of all.
    """

    shape: float | None
    rate: float | None
    mean: float | None
    log_likelihood: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class ShrunkRates:
    """Posterior mean and limits of each group's rate, in the order given."""

    mean: FloatArray
    lower: FloatArray
    upper: FloatArray
    n: int
    failed: int
    level: float
    status: Status
    reason: str


def moment_gamma_prior(failed: npt.ArrayLike, expected: npt.ArrayLike) -> GammaPrior:
    """Fit the spread of the groups' rates by matching moments: quick, and the likelihood's start.

    Takes and returns what `gamma_prior` does, without the log likelihood.

    Notes
    -----
    Clayton and Kaldor, Biometrics 43(3), 1987, pages 671-681: rates (failed + shape) /
    (expected + rate) and the two moments of the law in turn, until both stand still.

    Examples
    --------
    >>> prior = moment_gamma_prior([5, 1, 5, 14, 3, 19, 1], [20.2, 3.4, 13.5, 27.0, 1.1, 6.7, 0.2])
    >>> round(prior.mean, 2)
    1.21
    """
    counts, exposure = _groups(failed, expected)
    if (none := _no_spread(counts, exposure)) is not None:
        return none
    n = counts.size
    mean = float(counts.sum() / exposure.sum())
    shape, rate = 1.0, 1.0 / mean
    for _ in range(LARGEST_MOMENT_STEPS):
        smoothed = (counts + shape) / (exposure + rate)
        mean = float(smoothed.mean())
        spread = (1.0 + rate / exposure) * (smoothed - mean) ** 2
        variance = float(spread.sum()) / (n - 1)
        if not variance > 0.0:
            break
        before = (shape, rate)
        shape, rate = mean**2 / variance, mean / variance
        moved = max(abs(shape / before[0] - 1.0), abs(rate / before[1] - 1.0))
        if moved < MOMENT_TOLERANCE:
            return GammaPrior(shape, rate, mean, None, n, int(counts.sum()), Status.OK, "")
    return GammaPrior(
        None,
        None,
        float(counts.sum() / exposure.sum()),
        None,
        n,
        int(counts.sum()),
        Status.NOT_CONVERGED,
        f"the moments had not settled after {LARGEST_MOMENT_STEPS} steps",
    )


def gamma_prior(failed: npt.ArrayLike, expected: npt.ArrayLike) -> GammaPrior:
    """Say how the true rates of many groups are spread, chance taken out.

    Parameters
    ----------
    failed : array of int, shape (n,)
        Events of each group.
    expected : array, shape (n,)
        What each group's rate multiplies (expected events, or exposure), above 0.

    Returns
    -------
    GammaPrior
        By maximum likelihood of the counts (negative binomial). Shape and rate are None, with
        status and reason, where the groups differ no more than chance makes them.

    Raises
    ------
    ValueError
        Unequal lengths, a negative or broken count, an expectation not above 0.

    Notes
    -----
    Groups differ no more than chance where the sum of (failed - mean * expected)**2 - failed is
    not above 0: the likelihood then falls from the pooled rate on (score at zero spread).
    Source: Efron and Hastie, Computer Age Statistical Inference, 2016, section 6.1.

    Examples
    --------
    >>> prior = gamma_prior([0] * 84 + [1] * 10 + [4] * 6, [1.0] * 100)
    >>> round(prior.mean, 2)
    0.34
    """
    counts, exposure = _groups(failed, expected)
    if (none := _no_spread(counts, exposure)) is not None:
        return none
    start = moment_gamma_prior(counts, exposure)
    pooled = float(counts.sum() / exposure.sum())
    shape, mean = start.shape or 1.0, start.mean or pooled
    n = counts.size

    def loss(parameters: FloatArray) -> tuple[float, FloatArray]:
        value, slope = _log_likelihood(counts, exposure, *np.exp(parameters))
        return -value / n, -slope / n

    found = minimize(loss, np.log([shape, mean]), jac=True, method="BFGS", options={"gtol": 1e-10})
    shape, mean = (float(each) for each in np.exp(found.x))
    value, slope = _log_likelihood(counts, exposure, shape, mean)
    # BFGS may call a loss of precision a failure at the very top; the slope itself decides.
    settled = bool(np.abs(slope).max() / n < LARGEST_SLOPE)
    return GammaPrior(
        shape=shape if settled else None,
        rate=shape / mean if settled else None,
        mean=mean if settled else pooled,
        log_likelihood=value if settled else None,
        n=n,
        failed=int(counts.sum()),
        status=Status.OK if settled else Status.NOT_CONVERGED,
        reason=""
        if settled
        else "the likelihood has no top within reach; the pooled rate is given",
    )


def shrunk_rates(
    prior: GammaPrior, failed: npt.ArrayLike, expected: npt.ArrayLike, *, level: float = 0.95
) -> ShrunkRates:
    """Give each group's rate, the less was seen of it the nearer to what the groups share.

    Parameters
    ----------
    prior : GammaPrior
        Of the same groups, or of others like them.
    failed, expected : array, shape (n,)
        As for `gamma_prior`.
    level : float
        Of the two-sided posterior limits.

    Returns
    -------
    ShrunkRates
        Mean (failed + shape) / (expected + rate), limits from the gamma posterior. Where the prior
        has no spread every group gets its mean, and the limits of the pooled count of these groups.

    Raises
    ------
    ValueError
        As `gamma_prior`; a prior without a mean.

    Examples
    --------
    >>> prior = GammaPrior(2.0, 2.0, 1.0, None, 10, 12, Status.OK, "")
    >>> [round(float(each), 2) for each in shrunk_rates(prior, [0, 8], [2.0, 2.0]).mean]
    [0.5, 2.5]
    """
    counts, exposure = _groups(failed, expected)
    check_level(level)
    tail = (1.0 - level) / 2.0
    total = int(counts.sum())
    if prior.mean is None:
        raise ValueError(
            f"the prior must have a mean; it has none because {prior.reason}. "
            "Give groups with events, or a prior known from elsewhere."
        )
    if prior.shape is None or prior.rate is None:
        pooled = poisson_rate(total, float(exposure.sum()), level=level)
        same = np.ones(counts.size)
        return ShrunkRates(
            mean=same * prior.mean,
            lower=same * (pooled.lower or 0.0),
            upper=same * (pooled.upper or 0.0),
            n=counts.size,
            failed=total,
            level=level,
            status=prior.status,
            reason=prior.reason,
        )
    shape, rate = counts + prior.shape, exposure + prior.rate
    return ShrunkRates(
        mean=shape / rate,
        lower=gammaincinv(shape, tail) / rate,
        upper=gammaincinv(shape, 1.0 - tail) / rate,
        n=counts.size,
        failed=total,
        level=level,
        status=prior.status,
        reason=prior.reason,
    )


def _log_likelihood(
    counts: FloatArray, exposure: FloatArray, shape: float, mean: float
) -> tuple[float, FloatArray]:
    """Negative binomial log likelihood, and its slopes in log shape and log mean."""
    rate = shape / mean
    inside = np.log1p(exposure / rate)
    terms = gammaln(counts + shape) - gammaln(shape) - gammaln(counts + 1.0)
    terms = terms - shape * inside + counts * (np.log(exposure) - np.log(rate + exposure))
    in_shape = digamma(counts + shape) - digamma(shape) - inside
    in_rate = shape / rate - (counts + shape) / (rate + exposure)
    slope = np.array(
        [
            shape * float(in_shape.sum()) + rate * float(in_rate.sum()),
            -rate * float(in_rate.sum()),
        ]
    )
    return float(terms.sum()), slope


def _no_spread(counts: FloatArray, exposure: FloatArray) -> GammaPrior | None:
    n, failed = counts.size, int(counts.sum())
    if n == 0:
        return GammaPrior(None, None, None, None, 0, 0, Status.NO_LIVES, "there is no group")
    if failed == 0:
        return GammaPrior(None, None, None, None, n, 0, Status.NO_FAILURES, "no event was seen")
    mean = float(counts.sum() / exposure.sum())
    if n == 1 or float(((counts - mean * exposure) ** 2 - counts).sum()) <= 0.0:
        return GammaPrior(
            None,
            None,
            mean,
            None,
            n,
            failed,
            Status.CANNOT_TELL_APART,
            "the groups differ no more than chance makes them" if n > 1 else "one group only",
        )
    return None


def _groups(failed: npt.ArrayLike, expected: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    counts, exposure = columns_of(failed=failed, expected=expected)
    refuse_first(no_count(counts), "failed must be whole numbers, at least 0", counts)
    rule = "expected must be above 0 (leave out groups that were not watched)"
    refuse_first(~((exposure > 0.0) & np.isfinite(exposure)), rule, exposure)
    return counts, exposure

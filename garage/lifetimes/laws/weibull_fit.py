"""Fit a Weibull law to lives by maximum likelihood, with limits that are honest for few."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.counting import over_causes
from garage.lifetimes.laws.estimates import ParameterEstimate, log_scale_estimate
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_limits import LikelihoodRegion
from garage.lifetimes.laws.weibull_profile import SHAPE_LARGEST, SHAPE_SMALLEST, WeibullProfile
from garage.lifetimes.laws.without_law import rate_upper_bound, shape_refused
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

__all__ = ["ParameterEstimate", "WeibullFit", "weibull_fit", "weibull_fit_weighted"]

SHAPE_GRID = np.linspace(np.log(SHAPE_SMALLEST), np.log(SHAPE_LARGEST), 36)


@dataclass(frozen=True, slots=True)
class WeibullFit:
    """What `weibull_fit` found.

    Attributes
    ----------
    law : WeibullLaw or None
        None where `status` and `reason` say why.
    shape, scale : ParameterEstimate or None
        With a fixed shape, `shape` is None.
    log_likelihood : float or None
        At the fit, failures counted corrected.
    rate_upper : float or None
        Where nothing failed: the constant failure rate per clock unit that would have shown
        a failure with the probability `level`.
    """

    unit: str
    n: int
    failed: int
    status: Status
    reason: str
    level: float
    law: WeibullLaw | None = None
    shape: ParameterEstimate | None = None
    scale: ParameterEstimate | None = None
    log_likelihood: float | None = None
    rate_upper: float | None = None
    _region: LikelihoodRegion | None = field(default=None, repr=False)
    _covariance: tuple[float, float, float] = field(default=(0.0, 0.0, 0.0), repr=False)

    def quantile(self, share_failed: float) -> ParameterEstimate | None:
        """Clock by which a share (between 0 and 1) of lives fails; None without a law."""
        if not 0 < share_failed < 1:
            raise ValueError(f"a share lies between 0 and 1; got {share_failed}")
        if self.law is None or self._region is None:
            return None
        offset = float(np.log(-np.log1p(-share_failed)))
        of_shape, both, of_scale = self._covariance
        lean = -offset / self.law.shape
        variance = of_scale + 2 * lean * both + lean**2 * of_shape
        return log_scale_estimate(
            float(np.log(self.law.quantile(share_failed))),
            variance,
            self._region.log_quantile_limits(offset),
            self.level,
        )

    @property
    def median(self) -> ParameterEstimate | None:
        """Clock by which half of the lives fail; None without a law."""
        return self.quantile(0.5)

    @property
    def log_parameters(self) -> FloatArray | None:
        """Logarithms of shape and scale, shape (2,); None without a law."""
        return None if self.law is None else np.log([self.law.shape, self.law.scale])

    @property
    def log_covariance(self) -> FloatArray | None:
        """Their covariance by the normal approximation, (2, 2); that of a fixed shape is 0."""
        if self.law is None:
            return None
        of_shape, both, of_scale = self._covariance
        return np.array([[of_shape, both], [both, of_scale]])


def weibull_fit(
    table: RiskTable, *, level: float = LEVEL, fixed_shape: float | None = None
) -> WeibullFit:
    """Fit shape and scale, or the scale alone, to a risk table by maximum likelihood.

    Parameters
    ----------
    table : RiskTable
        All causes count as failures; entries may be delayed, failures corrected.
    level : float
        Of the two-sided limits.
    fixed_shape : float, optional
        A shape taken as known, above 0; 1 is a constant failure rate. One failure is then
        enough.

    Returns
    -------
    WeibullFit
        Without a law where nothing failed (then `rate_upper` bounds the rate), where all
        failures fell on one clock value, or where the data press the shape out of range.

    Notes
    -----
    log L = sum corrected * log h(t) - sum (failed + withdrawn) * H(t) + sum entered * H(t).
    Its gradient and second derivatives are analytic. Where failures are corrected for a
    capture share, the log-likelihood is that of more failures than were seen; for limits it
    is scaled back by failed / corrected, exact where one share holds for all. Lives count as
    independent: resample vehicles where they are not. A failure at clock 0 counts at half
    a clock unit.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapter 8 and
    section 11.6 (from memory; values checked, see the project's check values).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> exits, failed = [1500, 1750, 2250, 4000, 4300, 5000, 7000], [1, 0, 1, 1, 1, 0, 1]
    >>> table = RiskTable.from_lives(LivesArrays([0] * 7, exits, failed), unit="km")
    >>> fit = weibull_fit(table)
    >>> round(fit.law.shape, 3), round(fit.law.scale, 1)
    (2.257, 4900.1)
    """
    reach = normal_deviate(level)
    if fixed_shape is not None and not (np.isfinite(fixed_shape) and fixed_shape > 0):
        raise ValueError(f"a fixed shape is a finite number above 0; got {fixed_shape}")

    def without_law(status: Status, reason: str, rate: float | None = None) -> WeibullFit:
        return WeibullFit(
            table.unit, table.n, table.failed_total, status, reason, level, rate_upper=rate
        )

    if table.n == 0:
        return without_law(Status.NO_LIVES, "no life was watched")
    profile = WeibullProfile.from_table(table)
    if table.failed_total == 0:
        return without_law(*_no_failures(table, profile, level))
    if fixed_shape is None:
        failing = table.clock.take(np.flatnonzero(over_causes(table.failed) > 0))
        distances = failing.astype(np.float64)
        refused = shape_refused(table.failed_total, table.n, distances, table.unit)
        if refused is not None:
            return without_law(*refused)
        log_shape = _best_log_shape(profile)
        if log_shape is None:
            return without_law(
                Status.NOT_CONVERGED,
                f"no shape between {SHAPE_SMALLEST} and {SHAPE_LARGEST} fits best; fix a shape",
            )
    else:
        log_shape = float(np.log(fixed_shape))
    share_seen = table.failed_total / profile.failures
    law = WeibullLaw(float(np.exp(log_shape)), float(np.exp(profile.log_scale(np.exp(log_shape)))))
    region = LikelihoodRegion(
        profile, log_shape, reach**2 / 2 / share_seen, fixed_shape is not None
    )
    covariance = _covariance(profile, log_shape, share_seen, fixed=region.fixed)
    return WeibullFit(
        unit=table.unit,
        n=table.n,
        failed=table.failed_total,
        status=Status.OK,
        reason="",
        level=level,
        law=law,
        shape=None
        if region.fixed
        else log_scale_estimate(log_shape, covariance[0], region.log_shape_limits, level),
        scale=log_scale_estimate(
            float(np.log(law.scale)), covariance[2], region.log_quantile_limits(0.0), level
        ),
        log_likelihood=profile.height(log_shape),
        _region=region,
        _covariance=covariance,
    )


def weibull_fit_weighted(
    entry: ArrayLike,
    exit_: ArrayLike,
    failed: ArrayLike,
    weight: ArrayLike,
    fixed_shape: float | None = None,
) -> WeibullLaw:
    """The law that fits weighted single lives best, without limits; quick, for repeated use.

    Parameters
    ----------
    entry, exit_ : arrays, shape (n,)
        A life is at risk on (entry, exit]; any clock unit, fractions allowed.
    failed : array of bool, shape (n,)
    weight : array, shape (n,), 0 or more
        How far each life counts.
    fixed_shape : float, optional
        A shape taken as known.

    Raises
    ------
    ValueError
        If no failure carries weight, or an exit lies before its entry.

    Notes
    -----
    A shape that the data press beyond the range searched is cut to its end.

    Examples
    --------
    >>> law = weibull_fit_weighted([0, 0], [10, 30], [True, False], [1, 1], fixed_shape=1)
    >>> round(law.scale, 6)
    40.0
    """
    begin, end, weights = (np.asarray(each, np.float64) for each in (entry, exit_, weight))
    ended = np.asarray(failed, bool)
    if np.any(end < begin) or np.any(weights < 0):
        raise ValueError("a life leaves no earlier than it enters, and no weight is below 0")
    if not np.any(weights[ended] > 0):
        raise ValueError("no failure carries weight; bound the rate from the exposure instead")
    profile = WeibullProfile.from_lives(begin, end, ended, weights)
    if fixed_shape is not None:
        shape = float(fixed_shape)
    else:
        low, high = np.log(SHAPE_SMALLEST), np.log(SHAPE_LARGEST)
        log_shape = profile.best_log_shape(float(low), float(high))
        if log_shape is None:
            log_shape = float(high if profile.height(high) > profile.height(low) else low)
        shape = float(np.exp(log_shape))
    return WeibullLaw(shape, float(np.exp(profile.log_scale(shape))))


def _best_log_shape(profile: WeibullProfile) -> float | None:
    heights = [profile.height(float(at)) for at in SHAPE_GRID]
    best = int(np.argmax(heights))
    if best in (0, len(SHAPE_GRID) - 1):
        return None
    return profile.best_log_shape(float(SHAPE_GRID[best - 1]), float(SHAPE_GRID[best + 1]))


def _no_failures(
    table: RiskTable, profile: WeibullProfile, level: float
) -> tuple[Status, str, float | None]:
    watched = profile.exposure(1.0) * float(np.exp(profile.log_reference))
    words = f"none of {spoken(table.n)} lives failed while watched"
    if watched <= 0:
        return Status.NO_FAILURES, words + ", and none was watched for any distance", None
    return Status.NO_FAILURES, words, rate_upper_bound(0, watched, level)


def _covariance(
    profile: WeibullProfile, log_shape: float, share_seen: float, *, fixed: bool
) -> tuple[float, float, float]:
    """Variance of log shape, covariance, variance of log scale."""
    information = profile.information(log_shape) * share_seen
    if fixed:
        return 0.0, 0.0, 1 / float(information[1, 1])
    inverse = np.linalg.inv(information)
    return float(inverse[0, 0]), float(inverse[0, 1]), float(inverse[1, 1])

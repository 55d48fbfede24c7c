"""Fit a law of life of any family to lives, with limits that are honest for few."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.estimates import ParameterEstimate, log_scale_estimate
from garage.lifetimes.laws.families import Family, FamilyName, family_of
from garage.lifetimes.laws.law import Law
from garage.lifetimes.laws.law_region import LawRegion
from garage.lifetimes.laws.law_result import LawFit, SurvivalBand
from garage.lifetimes.laws.law_search import Top, best_place, highest_top
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from garage.lifetimes.laws.weibull_fit import WeibullFit, weibull_fit
from garage.lifetimes.laws.weibull_profile import SHAPE_LARGEST, SHAPE_SMALLEST
from garage.lifetimes.laws.without_law import (
    rate_upper_bound,
    scale_lower_bound,
    shape_refused,
)
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

__all__ = ["LawFit", "SurvivalBand", "law_fit"]

FLATTEST = 1e-9
"""1 - r^2 of shape and scale; below it the lives fit many shapes equally well."""


def law_fit(
    lives: RiskTable | IntervalLives,
    *,
    family: FamilyName,
    intervals: IntervalLives | None = None,
    fixed_shape: float | None = None,
    level: float = LEVEL,
) -> LawFit:
    """Fit a law to lives, of which any may enter late, be unfailed or failed in an interval.

    Parameters
    ----------
    lives : RiskTable or IntervalLives
        In a table all causes count as failures, corrected as there.
    family : {"exponential", "weibull", "lognormal", "log-logistic"}
    intervals : IntervalLives, optional
        Further lives *beside* a table, on its clock: none of them may stand in it too.
    fixed_shape : float, optional
        A shape (1 / sigma) taken as known, above 0. One failure is then enough.
    level : float
        Of the two-sided limits.

    Returns
    -------
    LawFit
        Without a law where nothing failed, where the failures may all have fallen on one clock
        value, or where the likelihood rises without end. Then `rate_upper` bounds the rate.

    Raises
    ------
    ValueError
        An unknown family, a shape that is no number above 0 or fixed for the exponential law,
        a level outside (0, 1).

    Notes
    -----
    With z = (log t - mu) / sigma a failure at t adds the log density of log life, less log t;
    an unfailed life log S(z); a failure in an interval log(S(z left) - S(z right)); a life that
    entered late takes log S(z entry) away. Newton's steps with analytic derivatives; without
    delayed entry the log-likelihood has one top, with it shapes over the whole range are looked
    at first. Likelihood-ratio limits follow the top of each line on which a figure is constant.
    Where failures are corrected for a capture share, the log-likelihood is scaled back by
    failed / corrected for limits. A failure at clock 0 counts at half a clock unit. A Weibull
    fit to a table alone is `weibull_fit`. Lives count as independent.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapters 8 and
    11 (from memory; values checked, see the project's check values).

    Examples
    --------
    Cracks found at inspections of 167 parts, hundred hours (Nelson 1982, page 415):

    >>> left = [0, 6.12, 19.92, 29.64, 35.4, 39.72, 45.24, 52.32, 63.48]
    >>> lives = IntervalLives(left, left[1:] + [np.inf], weight=[5, 16, 12, 18, 18, 2, 6, 17, 73])
    >>> fit = law_fit(lives, family="weibull")
    >>> round(fit.shape.value, 4), round(fit.scale.value, 3)
    (1.4854, 71.69)
    >>> sound = fit.survival_at(20)
    >>> round(sound.lower, 3), round(sound.value, 3), round(sound.upper, 3)
    (0.81, 0.861, 0.902)
    """
    unit = lives.unit if isinstance(lives, RiskTable) else ""
    asked = _Asked(family_of(family), _rows_of(lives, intervals), unit, level, fixed_shape)
    asked.refuse()
    rows, fixed = asked.rows, asked.shape is not None
    if rows.n <= 0:
        return asked.without_law(Status.NO_LIVES, "no life was watched")
    if rows.failed <= 0:
        return asked.without_law(*_no_failures(rows))
    if not fixed:
        exact = None if len(rows.low) else np.unique(rows.exact)
        refused = shape_refused(rows.failed, rows.n, exact, unit)
        if refused is not None:
            return asked.without_law(*refused)
    if isinstance(lives, RiskTable) and intervals is None and asked.is_weibull:
        return asked.from_weibull(weibull_fit(lives, level=level, fixed_shape=asked.shape))
    likelihood = asked.likelihood
    if asked.shape is None:
        top = highest_top(likelihood)
    else:
        top = best_place(likelihood, asked.shape, thorough=True)
    refused = _not_settled(rows, top, fixed=fixed)
    return asked.fitted(top) if refused is None else asked.without_law(*refused)


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """One question to `law_fit`, with its lives as rows."""

    family: Family
    rows: LikelihoodRows
    unit: str
    level: float
    fixed_shape: float | None

    def refuse(self) -> None:
        normal_deviate(self.level)
        given, own = self.fixed_shape, self.family.fixed_shape
        if given is not None and not (np.isfinite(given) and given > 0):
            raise ValueError(f"a fixed shape is a finite number above 0; got {given}")
        if given is not None and own is not None and given != own:
            raise ValueError(
                f"an {self.family.name} law has the shape {own:g}; got {given}. Ask for a "
                "weibull law with that shape."
            )

    @property
    def shape(self) -> float | None:
        return self.family.fixed_shape if self.fixed_shape is None else float(self.fixed_shape)

    @property
    def is_weibull(self) -> bool:
        return self.family.name in ("weibull", "exponential")

    @property
    def likelihood(self) -> LogLikelihood:
        return LogLikelihood.of(self.family.standard, self.rows)

    def without_law(self, status: Status, reason: str) -> LawFit:
        rows, scale_lower = self.rows, None
        rate = rate_upper_bound(rows.failed, rows.exposure * rows.share_seen, self.level)
        if rows.failed <= 0 < rows.n and self.shape is not None:
            scale_lower = scale_lower_bound(self.likelihood, self.shape, self.level)
        return LawFit(
            self.family.name,
            self.unit,
            rows.n,
            rows.failed,
            status,
            reason,
            self.level,
            rate_upper=rate,
            scale_lower=scale_lower,
        )

    def from_weibull(self, found: WeibullFit) -> LawFit:
        """The fit of the quicker way, with what it does not give added."""
        if found.law is None or found.scale is None or found.log_likelihood is None:
            return self.without_law(found.status, found.reason)
        likelihood, alpha = self.likelihood, found.law.shape
        beta = alpha * (likelihood.reference - float(np.log(found.law.scale)))
        top = Top(alpha, beta, likelihood.at(alpha, beta), settled=True)
        return self._result(
            self._region(top),
            _Estimates(found.law, found.shape, found.scale, found.log_likelihood),
            found,
        )

    def fitted(self, top: Top) -> LawFit:
        region = self._region(top)
        (of_scale, _), (_, of_shape) = region.covariance
        scale = log_scale_estimate(
            region.log_clock(0.0), of_scale, region.log_quantile_limits(0.0), self.level
        )
        shape = None
        if not region.fixed:
            log_shape = float(np.log(top.alpha))
            shape = log_scale_estimate(log_shape, of_shape, region.log_shape_limits(), self.level)
        law = self.family.make(top.alpha, scale.value)
        return self._result(region, _Estimates(law, shape, scale, top.height.value))

    def _region(self, top: Top) -> LawRegion:
        share_seen, fixed = self.rows.share_seen, self.shape is not None
        reach = normal_deviate(self.level)
        return LawRegion(
            likelihood=self.likelihood,
            alpha=top.alpha,
            beta=top.beta,
            drop=reach**2 / 2 / share_seen,
            fixed=fixed,
            covariance=_covariance(top, share_seen, fixed=fixed),
            reach=reach,
        )

    def _result(
        self, region: LawRegion, found: "_Estimates", weibull: WeibullFit | None = None
    ) -> LawFit:
        parameters = 1 if region.fixed else 2
        return LawFit(
            family=self.family.name,
            unit=self.unit,
            n=self.rows.n,
            failed=self.rows.failed,
            status=Status.OK,
            reason="",
            level=self.level,
            law=found.law,
            shape=found.shape,
            scale=found.scale,
            log_likelihood=found.log_likelihood,
            aic=2 * parameters - 2 * self.rows.share_seen * found.log_likelihood,
            covariance=region.covariance,
            _region=region,
            _weibull=weibull,
        )


@dataclass(frozen=True, slots=True)
class _Estimates:
    law: Law
    shape: ParameterEstimate | None
    scale: ParameterEstimate
    log_likelihood: float


def _rows_of(lives: RiskTable | IntervalLives, intervals: IntervalLives | None) -> LikelihoodRows:
    if isinstance(lives, IntervalLives):
        rows = LikelihoodRows.from_intervals(lives)
    else:
        rows = LikelihoodRows.from_table(lives)
    return rows if intervals is None else rows + LikelihoodRows.from_intervals(intervals)


def _no_failures(rows: LikelihoodRows) -> tuple[Status, str]:
    words = f"none of {spoken(rows.n)} lives failed while watched"
    if rows.exposure <= 0:
        words += ", and none was watched for any distance"
    return Status.NO_FAILURES, words


def _not_settled(rows: LikelihoodRows, top: Top, *, fixed: bool) -> tuple[Status, str] | None:
    """Why a search's end is no fit; None where it is one."""
    if fixed:
        if top.settled:
            return None
        return (
            Status.NOT_CONVERGED,
            "the lives do not bound the scale: it may lie as far off as one likes",
        )
    bend = top.height.bend
    flat = bool(bend[0, 0] * bend[1, 1] * (1 - FLATTEST) <= bend[0, 1] ** 2)
    if top.settled and not flat:
        return None
    if rows.may_be_one_distance:
        words = f"all {spoken(rows.failed)} failures may have fallen on one distance; fix a shape"
        return Status.ONE_DISTANCE, words
    if top.settled:
        words = (
            "many shapes fit these lives equally well, as where all were looked at once and at "
            "one distance; fix a shape"
        )
        return Status.NOT_CONVERGED, words
    words = f"no shape between {SHAPE_SMALLEST} and {SHAPE_LARGEST} fits best; fix a shape"
    return Status.NOT_CONVERGED, words


def _covariance(top: Top, share_seen: float, *, fixed: bool) -> FloatArray:
    """Of log scale and log shape, from the second derivatives by alpha and beta."""
    turned = np.array([[0.0, top.alpha], [-top.alpha, top.beta]])
    information = -turned.T @ top.height.bend @ turned * share_seen
    if fixed:
        return np.array([[1 / float(information[0, 0]), 0.0], [0.0, 0.0]])
    return np.asarray(np.linalg.inv(information), np.float64)

"""The most likely survival curve of lives that are known to have failed between two looks."""

from dataclasses import dataclass, field

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.curves.interval_fit import SAME_SHARE, IntervalFit, fitted
from garage.lifetimes.curves.product_limit import SMALLEST_RISK_SET
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

GAP_ENOUGH = 1e-7
"""Log-likelihood for each life; a search that ended further from the best has not settled.
Judgement, no source: such a shortfall is far inside any limits."""


@dataclass(frozen=True, slots=True)
class IntervalSurvivalAt:
    """Survival at one clock value.

    Attributes
    ----------
    value : float or None
        None where the data give no more than the range from `least` to `greatest`, both
        equally likely; else the three are one.
    lower, upper : float or None
        Likelihood-ratio limits.
    at_risk : float
        Lives that were under watch there, and not known to have failed before it.
    """

    clock: float
    value: float | None
    least: float | None
    greatest: float | None
    lower: float | None
    upper: float | None
    at_risk: float
    n: float
    failed: float
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class IntervalQuantile:
    """Clock by which a share of lives has failed, known to lie in [earliest, latest].

    `value` is given where the two are one. `lower` and `upper` are the clock values between
    which the limits of the curve hold the share; one that is not reached is None.
    """

    share_failed: float
    value: float | None
    earliest: float | None
    latest: float | None
    lower: float | None
    upper: float | None
    n: float
    failed: float
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class IntervalCurve:
    """A survival curve that falls inside sets of the clock; made by `interval_curve`.

    Attributes
    ----------
    n, failed : float
        Lives, and those known to have failed; sums of weights.
    left, right, left_closed : arrays, shape (m,)
        The sets in which the curve falls: (left, right], or [left, right] where `left_closed`.
        The last may be without end, ``right = inf``: beyond it nobody was watched.
    mass, survival : arrays, shape (m,)
        Share failing in each set, and surviving beyond it. Where in the set it fails is not
        known.
    log_likelihood, gap : float
        The greatest log-likelihood, and what any other curve could add to it at the most.
    unique : bool
        Whether no other curve is as likely, but for where it falls inside the sets.
    watched_to : float or None
        Last clock value at which anybody was watched.
    reliable_to, reliable_from : float or None
        The curve hangs on too few, or on nobody, from `reliable_to` on, while more lives came
        under watch later; `at` gives no value beyond. Ask again with
        ``given_survival_to=curve.reliable_from``.
    """

    unit: str
    n: float
    failed: float
    status: Status
    reason: str
    level: float
    closed_left: bool
    given_survival_to: float | None
    watched_to: float | None
    reliable_to: float | None
    reliable_from: float | None
    left: FloatArray
    right: FloatArray
    left_closed: BoolArray
    mass: FloatArray
    survival: FloatArray
    log_likelihood: float
    gap: float
    unique: bool
    _fit: IntervalFit = field(repr=False)

    @property
    def start(self) -> float:
        """Clock value at which the curve is 1; before the first entry nobody was watched."""
        return self._fit.start

    def at(self, clock: float) -> IntervalSurvivalAt:
        """Survival to `clock`, or the range of it, with likelihood-ratio limits.

        The limits take some twenty searches: milliseconds for a hundred lives, a few seconds
        for ten thousand.
        """
        fit = self._fit
        if self.watched_to is None or clock < self.start:
            beyond = f"the curve speaks of lives that have reached {spoken(self.start, self.unit)}"
            if self.watched_to is None:
                return self._at(clock, None, (Status.NO_LIVES, self.reason))
            return self._at(clock, None, (Status.BEYOND_WATCH, beyond))
        if fit.in_thin_part(clock):
            return self._at(clock, None, (Status.SMALL_RISK_SET, self.reason))
        least, greatest = fit.survival_range(clock)
        if clock > self.watched_to and greatest > SAME_SHARE:
            reason = f"nobody was watched beyond {spoken(self.watched_to, self.unit)}"
            return self._at(clock, (0.0, greatest), (Status.BEYOND_WATCH, reason))
        if greatest - least > SAME_SHARE:
            reason = (
                f"the lives do not say where between {spoken(least)} and {spoken(greatest)} "
                f"survival to {spoken(clock, self.unit)} lies"
            )
            return self._at(clock, (least, greatest), (Status.WITHIN_A_RANGE, reason))
        at_risk = fit.at_risk_at(clock)
        if at_risk < SMALLEST_RISK_SET and clock > self.start:
            few = f"only {spoken(at_risk)} at risk at {spoken(clock, self.unit)}"
            return self._at(clock, (least, greatest), (Status.SMALL_RISK_SET, few))
        return self._at(clock, (least, greatest), self._overall)

    def quantile(self, share_failed: float) -> IntervalQuantile:
        """The earliest and latest clock by which `share_failed` (between 0 and 1) have failed.

        Limits as of Brookmeyer and Crowley (Biometrics 38, 1982; from memory): the clock
        values at which the limits of the curve come down to the same share. They take some
        fifteen times as long as limits at one clock value.
        """
        if not 0 < share_failed < 1:
            raise ValueError(f"a share lies between 0 and 1; got {share_failed}")
        goal = 1 - share_failed
        earliest, latest = self._fit.reached(goal)
        value = earliest if earliest == latest else None
        lower, upper = self._fit.clock_limits(goal)
        status, reason = self._overall
        if latest is None:
            status, reason = self._why_not_reached(goal)
        elif value is None:
            status = Status.WITHIN_A_RANGE
            reason = "the lives do not say where in this range the share is reached"
        return IntervalQuantile(
            share_failed,
            value,
            earliest,
            latest,
            lower,
            upper,
            self.n,
            self.failed,
            status,
            reason,
        )

    @property
    def median(self) -> IntervalQuantile:
        """The earliest and latest clock by which half have failed."""
        return self.quantile(0.5)

    @property
    def _overall(self) -> tuple[Status, str]:
        """What hangs over every figure of the curve."""
        settled = self.status is not Status.NOT_CONVERGED
        return (Status.OK, "") if settled else (self.status, self.reason)

    def _at(
        self, clock: float, bounds: tuple[float, float] | None, why: tuple[Status, str]
    ) -> IntervalSurvivalAt:
        least, greatest = bounds or (None, None)
        value = lower = upper = None
        if least is not None and greatest is not None and why[0] is not Status.BEYOND_WATCH:
            lower, upper = self._fit.limits(clock)
            if why[0] is not Status.WITHIN_A_RANGE:
                value = least = greatest = (least + greatest) / 2
        return IntervalSurvivalAt(
            clock,
            value,
            least,
            greatest,
            lower,
            upper,
            self._fit.at_risk_at(clock),
            self.n,
            self.failed,
            *why,
        )

    def _why_not_reached(self, goal: float) -> tuple[Status, str]:
        if self.watched_to is None or self.reliable_to is not None:
            return self.status, self.reason
        status = Status.NO_FAILURES if self.failed == 0 else Status.NOT_REACHED
        return status, (
            f"more than {100 * goal:.3g} % may outlast {spoken(self.watched_to, self.unit)}, "
            "the furthest that any was watched"
        )


def interval_curve(
    lives: IntervalLives,
    *,
    unit: str,
    level: float = LEVEL,
    closed_left: bool = False,
    given_survival_to: float | None = None,
) -> IntervalCurve:
    """Estimate which share of lives outlasts each clock value, from looks at them.

    Parameters
    ----------
    lives : IntervalLives
        Each with the stretch in which it failed, its entry and its weight.
    unit : str
        Of the clock, such as ``"km"``; it stands in the reasons.
    level : float
        Of the two-sided limits.
    closed_left : bool
        Whether a failure may lie at `left` itself, [left, right] in place of (left, right].
        Programs differ over this, and it can change a curve by much where one life's `right`
        is another's `left`. A life seen unfailed at `left` fails after it either way.
    given_survival_to : float, optional
        The curve of lives that have reached this clock value, which must not lie inside a
        set in which the curve falls.

    Returns
    -------
    IntervalCurve

    Raises
    ------
    ValueError
        If the level is not between 0 and 1, or survival up to `given_survival_to` is known
        only as a range.

    Notes
    -----
    No other curve makes the intervals likelier; `gap` proves it. It is defined only outside
    its sets, so `at` gives a range inside one and no figure: any rule that drew a line there
    would be an assumption. With delayed entry a life counts as likely among those that reach
    its entry; the curve may then be one of several equally likely (`unique` is False, and
    figures become ranges), or fall to 0 from a few lives before others came under watch (see
    `reliable_to`). For exact and unfailed lives the curve is the product limit.

    The limits are likelihood-ratio limits with the quantile of chi-square with one degree of
    freedom. Standard errors from the information are of no use where masses of 0 lie on the
    edge of what is possible, and resampling lives does not follow the spread of this curve
    (Abrevaya and Huang, Econometrica 73 (2005) 1175-1204). Where looks are spread continuously and
    no failure is exact, the ratio itself varies less than chi-square (95 % of it below about
    2.3 and not 3.84: Banerjee and Wellner, Annals of Statistics 29 (2001) 1699-1731), so the
    limits are then wider than need be; where looks fall on few clock values or failures are
    exact they are as wide as they ought to be. Lives are taken as independent of each other
    and of the times of the looks.
    Sources: Turnbull, JRSS B 38 (1976) 290-295 (all from memory; values checked, see the
    project's check values).

    Examples
    --------
    >>> looks = IntervalLives([0, 10, 10, 20, 45], [20, 20, 30, 40, float("inf")])
    >>> curve = interval_curve(looks, unit="km")
    >>> list(zip(curve.left.tolist(), curve.right.tolist(), curve.mass.round(3).tolist()))
    [(10.0, 20.0, 0.533), (20.0, 30.0, 0.267), (45.0, inf, 0.2)]
    >>> inside = curve.at(15)
    >>> inside.value, round(inside.least, 3), inside.greatest
    (None, 0.467, 1.0)
    """
    normal_deviate(level)
    fit = fitted(lives, level=level, closed_left=closed_left, given_survival_to=given_survival_to)
    status, reason = _status_of(fit, unit)
    held = fit.mass > 0
    return IntervalCurve(
        unit=unit,
        n=fit.n,
        failed=fit.failed,
        status=status,
        reason=reason,
        level=level,
        closed_left=closed_left,
        given_survival_to=given_survival_to,
        watched_to=fit.watched_to,
        reliable_to=None if fit.thin is None else fit.thin.left,
        reliable_from=None if fit.thin is None else fit.thin.right,
        left=fit.sets.left[held],
        right=fit.sets.right[held],
        left_closed=fit.sets.left_closed[held],
        mass=fit.mass[held],
        survival=fit.survival[1:][held],
        log_likelihood=fit.hazards.log_likelihood,
        gap=fit.hazards.gap,
        unique=fit.unique,
        _fit=fit,
    )


def _status_of(fit: IntervalFit, unit: str) -> tuple[Status, str]:
    if fit.n <= 0:
        return Status.NO_LIVES, "no life was watched"
    if fit.hazards.gap > GAP_ENOUGH * fit.n:
        return Status.NOT_CONVERGED, (
            f"the search ended {spoken(fit.hazards.gap)} below the best log-likelihood at worst"
        )
    if fit.thin is not None:
        return Status.SMALL_RISK_SET, (
            f"after {spoken(fit.thin.left, unit)} only {spoken(fit.thin.at_risk)} at risk, while "
            "more lives came under watch later; ask for survival among lives that have reached "
            f"{spoken(fit.thin.right, unit)}"
        )
    if fit.failed <= 0:
        return Status.NO_FAILURES, f"none of {spoken(fit.n)} lives failed while watched"
    if not fit.unique:
        return Status.WITHIN_A_RANGE, "several curves are equally likely"
    return Status.OK, ""

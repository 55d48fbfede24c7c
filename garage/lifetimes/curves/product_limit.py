"""The product-limit estimate: which share of lives outlasts a given distance."""

from dataclasses import dataclass, field

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import (
    LEVEL,
    LimitsKind,
    none_failed_lower,
    normal_deviate,
)
from garage.lifetimes.counting import over_causes
from garage.lifetimes.curves.product_steps import product_steps, variance_steps
from garage.lifetimes.curves.steps import lives_after, rows_after
from garage.lifetimes.curves.thin_places import thin_places
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

SMALLEST_RISK_SET = 10
"""Lives at risk; below this one failure moves the curve by a tenth or more, and what it says
hangs on single vehicles. Judgement, no source."""

REACHED_SLACK = 1e-12
"""Share; a product of fractions that ought to be one half may miss it by rounding."""


@dataclass(frozen=True, slots=True)
class SurvivalAt:
    """Survival at one clock value; `value` is None where `reason` says so."""

    clock: float
    value: float | None
    lower: float | None
    upper: float | None
    at_risk: float
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class QuantileEstimate:
    """Clock by which a share of lives has failed; a limit that is not reached is None."""

    share_failed: float
    value: float | None
    lower: float | None
    upper: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class MeanEstimate:
    """Mean clock run within a horizon; all figures None where `reason` says so."""

    until: float
    value: float | None
    standard_error: float | None
    lower: float | None
    upper: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class SurvivalCurve:
    """A survival curve at the clock values where failures happened; made by `product_limit`.

    Attributes
    ----------
    n, failed : int
        Lives watched and failures seen.
    clock, at_risk, survival, standard_error, lower, upper : arrays, shape (f,)
        The curve just after each failure. Where it has come down to 0 the standard error and
        the upper limit are undefined and repeat their last values, the lower limit is 0.
    watched_to : int or None
        Last clock value at which anybody was at risk.
    reliable_to, reliable_from : int or None
        First and last clock value at which the curve hangs on a risk set too small for it,
        before more lives came under watch; `at` gives no value from `reliable_to` on. None
        where the curve holds throughout.
    status : Status
        ``SMALL_RISK_SET`` where `reliable_to` is set; then ask again with
        ``given_survival_to=curve.reliable_from``, which has no such place.
    """

    unit: str
    n: int
    failed: int
    status: Status
    reason: str
    level: float
    limits: LimitsKind
    given_survival_to: int | None
    smallest_risk_set: int
    watched_to: int | None
    reliable_to: int | None
    reliable_from: int | None
    clock: IntArray
    at_risk: FloatArray
    survival: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray
    _table: RiskTable = field(repr=False)

    @property
    def start(self) -> int:
        """Clock value at which the curve is 1."""
        return 0 if self.given_survival_to is None else self.given_survival_to

    def at(self, clock: float) -> SurvivalAt:
        """Survival to `clock`, with its limits and the number still at risk there."""
        at_risk = float(self._table.at_risk_at(clock))

        def found(
            figures: tuple[float | None, float | None, float | None], status: Status, reason: str
        ) -> SurvivalAt:
            return SurvivalAt(clock, *figures, at_risk, self.n, self.failed, status, reason)

        none = (None, None, None)
        if self.watched_to is None:
            return found(none, Status.NO_LIVES, self.reason)
        if clock < self.start:
            return found(
                none,
                Status.BEYOND_WATCH,
                f"the curve speaks of lives that have reached {spoken(self.start, self.unit)}",
            )
        if self.reliable_to is not None and clock >= self.reliable_to:
            return found(none, Status.SMALL_RISK_SET, self.reason)
        step = int(np.searchsorted(self.clock, clock, side="right")) - 1
        ended = step >= 0 and self.survival[step] <= 0
        if clock > self.watched_to and not ended:
            return found(
                none,
                Status.BEYOND_WATCH,
                f"nobody was watched beyond {spoken(self.watched_to, self.unit)}",
            )
        if step < 0:
            figures = (1.0, none_failed_lower(at_risk, self.level), 1.0)
        else:
            figures = (
                float(self.survival[step]),
                float(self.lower[step]),
                float(self.upper[step]),
            )
        if step < 0 and at_risk <= 0 and clock > self.start:
            return found(
                none, Status.BEYOND_WATCH, "nobody was under watch at or before this distance"
            )
        if at_risk < self.smallest_risk_set and clock > self.start:
            return found(
                figures,
                Status.SMALL_RISK_SET,
                f"only {spoken(at_risk)} at risk at {spoken(clock, self.unit)}",
            )
        return found(figures, Status.OK, "")

    def quantile(self, share_failed: float) -> QuantileEstimate:
        """Smallest clock value by which `share_failed` (between 0 and 1) have failed.

        Limits are those of Brookmeyer and Crowley (Biometrics 38, 1982; from memory): the
        clock values at which the curve's own limits come down to the same share.
        """
        if not 0 < share_failed < 1:
            raise ValueError(f"a share lies between 0 and 1; got {share_failed}")
        goal = 1 - share_failed
        value, lower, upper = (
            self._first_below(each, goal) for each in (self.survival, self.lower, self.upper)
        )
        status, reason = Status.OK, ""
        if value is None:
            status, reason = self._why_not_reached(goal)
        return QuantileEstimate(
            share_failed, value, lower, upper, self.n, self.failed, status, reason
        )

    @property
    def median(self) -> QuantileEstimate:
        """Smallest clock value by which half have failed, with its limits."""
        return self.quantile(0.5)

    def given_survival(self, clock: int) -> "SurvivalCurve":
        """The curve of the lives that have reached this clock value, made in the same way."""
        return product_limit(
            self._table,
            level=self.level,
            limits=self.limits,
            smallest_risk_set=self.smallest_risk_set,
            given_survival_to=clock,
        )

    def restricted_mean(self, until: float) -> MeanEstimate:
        """Mean clock run from the curve's start to `until`, lives ending there at the latest.

        The standard error has no n / (n - 1) correction, as R's survival package prints it.
        """
        end = self.at(until)
        if end.value is None or until <= self.start:
            reason = end.reason or f"the horizon lies beyond {spoken(self.start, self.unit)}"
            status = Status.BEYOND_WATCH if end.status is Status.OK else end.status
            return MeanEstimate(until, None, None, None, None, self.n, self.failed, status, reason)
        inside = self.clock <= until
        edges = np.concatenate([[self.start], self.clock[inside], [until]])
        heights = np.concatenate([[1.0], self.survival[inside]])
        areas = np.diff(edges) * heights
        remaining = np.cumsum(areas[::-1])[::-1][1:]
        variance = variance_steps(self._table, self.given_survival_to)
        error = float(np.sqrt(np.sum(remaining**2 * variance[inside])))
        mean, reach = float(areas.sum()), normal_deviate(self.level) * error
        lower, upper = max(mean - reach, 0.0), min(mean + reach, until - self.start)
        return MeanEstimate(
            until, mean, error, lower, upper, self.n, self.failed, end.status, end.reason
        )

    def _first_below(self, heights: FloatArray, goal: float) -> float | None:
        reached = heights <= goal + REACHED_SLACK
        if self.reliable_to is not None:
            reached &= self.clock < self.reliable_to
        return float(self.clock[np.argmax(reached)]) if np.any(reached) else None

    def _why_not_reached(self, goal: float) -> tuple[Status, str]:
        if self.watched_to is None or self.reliable_to is not None:
            return self.status, self.reason
        status = Status.NO_FAILURES if self.failed == 0 else Status.NOT_REACHED
        return status, (
            f"more than {100 * goal:.3g} % outlast {spoken(self.watched_to, self.unit)}, "
            "the furthest that any was watched"
        )


def product_limit(
    table: RiskTable,
    *,
    level: float = LEVEL,
    limits: LimitsKind = "log-log",
    smallest_risk_set: int = SMALLEST_RISK_SET,
    given_survival_to: int | None = None,
) -> SurvivalCurve:
    """Estimate which share of lives outlasts each clock value.

    Parameters
    ----------
    table : RiskTable
        All causes count as failures; choose one with ``table.cause_alone``.
    level : float
        Of the two-sided limits.
    limits : {"log-log", "log", "plain"}
        Scale on which the limits are symmetric.
    smallest_risk_set : int
        Number at risk under which a figure is marked, and from which an early failure makes
        the rest of the curve unusable if more lives come under watch later.
    given_survival_to : int, optional
        The curve of lives that have reached this clock value.

    Returns
    -------
    SurvivalCurve

    Notes
    -----
    A life is at risk on (entry, exit]; a loss tied with a failure counts as at risk. The
    step's hazard is corrected / at risk. The standard error is Greenwood's; with a capture
    share q below 1 it is that of failures seen with chance q, taking q as known, and lives
    as independent: resample vehicles where they are not.
    Sources: Kaplan and Meier, Journal of the American Statistical Association 53, 1958,
    457-481; delayed entry: Klein and Moeschberger, Survival Analysis, 2nd edition 2003,
    section 4.6 (both from memory; values checked, see the project's check values).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> lives = LivesArrays(entry=[0] * 6, exit=[1, 1, 6, 6, 8, 9], cause=[1, 0, 1, 1, 0, 1])
    >>> curve = product_limit(RiskTable.from_lives(lives, unit="km"))
    >>> curve.clock.tolist(), curve.survival.round(4).tolist()
    ([1, 6, 9], [0.8333, 0.4167, 0.0])
    >>> curve.median.value
    6.0
    """
    steps = product_steps(table, given_survival_to, level=level, limits=limits)
    n = lives_after(table, given_survival_to)
    failed = int(table.failed[:, rows_after(table, given_survival_to)].sum())
    thin = thin_places(
        table.clock,
        table.at_risk,
        over_causes(table.failed),
        smallest=smallest_risk_set,
        start=0 if given_survival_to is None else given_survival_to,
    )
    status, reason = _status_of(table, n, failed, thin)
    return SurvivalCurve(
        unit=table.unit,
        n=n,
        failed=failed,
        status=status,
        reason=reason,
        level=level,
        limits=limits,
        given_survival_to=given_survival_to,
        smallest_risk_set=smallest_risk_set,
        watched_to=table.watched_to if n else None,
        reliable_to=thin[0] if thin else None,
        reliable_from=thin[-1] if thin else None,
        clock=steps.clock,
        at_risk=steps.at_risk,
        survival=steps.survival,
        standard_error=steps.standard_error,
        lower=steps.lower,
        upper=steps.upper,
        _table=table,
    )


def _status_of(table: RiskTable, n: int, failed: int, thin: list[int]) -> tuple[Status, str]:
    if n == 0:
        return Status.NO_LIVES, "no life was watched"
    if thin:
        few = spoken(float(table.at_risk_at(thin[0])))
        return Status.SMALL_RISK_SET, (
            f"at {spoken(thin[0], table.unit)} only {few} at risk, while more lives came under "
            "watch later; ask for survival among lives that have reached "
            f"{spoken(thin[-1], table.unit)}"
        )
    if failed == 0:
        return Status.NO_FAILURES, f"none of {spoken(n)} lives failed while watched"
    return Status.OK, ""

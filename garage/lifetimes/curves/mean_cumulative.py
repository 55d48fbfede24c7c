"""The mean cumulative function: how many failures, or how much cost, a system has had by now."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import LEVEL, none_failed_lower, normal_deviate
from garage.lifetimes.curves.product_limit import SMALLEST_RISK_SET
from garage.lifetimes.curves.recurrent_events import (
    RecurrentEvents,
    WatchedEvents,
    watched_events,
)
from garage.lifetimes.curves.recurrent_variance import mean_steps, robust_variance
from garage.lifetimes.curves.thin_places import thin_places
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

MeanLimitsKind = Literal["log", "plain"]

NO_SPREAD = 1e-7
"""Of a mean; a smaller standard error is the rounding of 0, with systems all alike. Judgement,
no source: a true one so small would need 10**14 failures."""


@dataclass(frozen=True, slots=True)
class MeanCumulativeAt:
    """Mean failures, or cost, per system by one clock value; None where `reason` says so."""

    clock: float
    value: float | None
    standard_error: float | None
    lower: float | None
    upper: float | None
    at_risk: float
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class MeanCumulativeCurve:
    """Mean failures per system at the clock values where any failed; made by `mean_cumulative`.

    Attributes
    ----------
    n, failed : int
        Systems watched, and failures counted, after `since`.
    of_cost : bool
        Whether the mean is of costs rather than of failures.
    since : int or None
        Failures up to this clock value are not counted; None counts from the start.
    watched_from, watched_to : int or None
        First and last clock value between which systems were watched.
    reliable_to, reliable_from : int or None
        First and last clock value at which the curve hangs on too few, or on nobody, before
        more systems came under watch; `at` gives no value from `reliable_to` on, and
        ``since=curve.reliable_from`` has no such place.
    clock, at_risk, mean, standard_error, lower, upper : arrays, shape (f,)
        The curve just after each failure. Where the error is 0 the limits equal the mean; `at`
        gives none there.
    """

    unit: str
    n: int
    failed: int
    status: Status
    reason: str
    level: float
    limits: MeanLimitsKind
    of_cost: bool
    since: int | None
    smallest_risk_set: int
    watched_from: int | None
    watched_to: int | None
    reliable_to: int | None
    reliable_from: int | None
    clock: IntArray
    at_risk: FloatArray
    mean: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray
    _watched: WatchedEvents = field(repr=False)

    def at(self, clock: float) -> MeanCumulativeAt:
        """Mean by `clock`, with its limits and the number of systems still at risk there."""
        at_risk = float(self._watched.at_risk_at(clock))
        value = error = lower = upper = None
        status, reason = self._remark(clock, at_risk)
        if status in (Status.OK, Status.SMALL_RISK_SET) and not self._unreliable(clock):
            step = int(np.searchsorted(self.clock, clock, side="right")) - 1
            value = float(self.mean[step]) if step >= 0 else 0.0
            if value == 0:
                error, lower, upper = 0.0, 0.0, self._none_failed_upper(at_risk)
            elif self.standard_error[step] > NO_SPREAD * value:
                error, lower, upper = (
                    float(each[step]) for each in (self.standard_error, self.lower, self.upper)
                )
            elif status is Status.OK:
                status, reason = Status.FEW_CLUSTERS, "all systems had the same so far"
        return MeanCumulativeAt(
            clock, value, error, lower, upper, at_risk, self.n, self.failed, status, reason
        )

    def _unreliable(self, clock: float) -> bool:
        return self.reliable_to is not None and clock >= self.reliable_to

    def _remark(self, clock: float, at_risk: float) -> tuple[Status, str]:
        if self.watched_from is None or self.watched_to is None:
            return Status.NO_LIVES, self.reason
        if self._unreliable(clock):
            return Status.SMALL_RISK_SET, self.reason
        if not self.watched_from <= clock <= self.watched_to:
            return Status.BEYOND_WATCH, (
                f"systems were watched from {spoken(self.watched_from)} to "
                f"{spoken(self.watched_to, self.unit)}"
            )
        if at_risk < self.smallest_risk_set and clock > self.watched_from:
            return Status.SMALL_RISK_SET, (
                f"only {spoken(at_risk)} at risk at {spoken(clock, self.unit)}"
            )
        return Status.OK, ""

    def _none_failed_upper(self, at_risk: float) -> float | None:
        lowest = none_failed_lower(at_risk, self.level)
        return None if lowest is None or self.of_cost else -float(np.log(lowest))


def mean_cumulative(
    events: RecurrentEvents,
    *,
    level: float = LEVEL,
    limits: MeanLimitsKind = "log",
    since: int | None = None,
    smallest_risk_set: int = SMALLEST_RISK_SET,
) -> MeanCumulativeCurve:
    """Estimate how many failures, or how much cost, a system has had on average by each clock.

    Parameters
    ----------
    events : RecurrentEvents
        Windows and failures of systems; with `cost` the mean is of the cost.
    level : float
        Of the two-sided limits.
    limits : {"log", "plain"}
        Scale on which the limits are symmetric; plain ones are cut at 0.
    since : int, optional
        Count failures after this clock value only.
    smallest_risk_set : int
        Systems at risk under which a figure is marked, and from which an early failure makes
        the rest of the curve unusable if more systems come under watch later.

    Returns
    -------
    MeanCumulativeCurve

    Raises
    ------
    ValueError
        For events or windows that break a rule of `RecurrentEvents`, or unknown limits.

    Notes
    -----
    At each clock value the mean rises by failures / systems at risk; no law is assumed, and
    repeats on one system need not be independent. Systems are: they must not leave the watch
    because of how often they failed. Systems watched late stand for those watched earlier.

    Three variances are in print. This is the robust one: the sum over systems of their squared
    influence, also called infinitesimal jackknife, which R's ``survfit(Surv(t1, t2, failed) ~ 1,
    id = id, cluster = id)`` prints and Lawless and Nadeau give. Nelson's of 1995 estimates the
    same with n - 1 in place of n; it can fall below 0. The naive one, sum of d / Y**2, takes
    repeats as independent, and some programs leave out the covariance between steps: both are
    wrong where some systems fail more often than others.

    Before the first failure the upper limit is that of a Poisson count of 0 among those at
    risk; a cost has none there.

    Sources: Nelson, Journal of Quality Technology 20, 1988, 24-35; the same 27, 1995, 147-157;
    Lawless and Nadeau, Technometrics 37, 1995, 158-168 (all from memory; values checked).

    Examples
    --------
    >>> events = RecurrentEvents(
    ...     system=[1, 2, 3], entry=[0, 0, 0], exit=[17, 19, 26],
    ...     event_system=[1, 1, 1, 2, 2, 3], event_clock=[5, 10, 15, 6, 13, 12],
    ...     unit="months")
    >>> curve = mean_cumulative(events, smallest_risk_set=2)
    >>> curve.clock.tolist(), curve.mean.round(3).tolist()
    ([5, 6, 10, 12, 13, 15], [0.333, 0.667, 1.0, 1.333, 1.667, 2.0])
    >>> year = curve.at(12)
    >>> round(year.value, 3), round(year.standard_error, 3), round(year.upper, 3)
    (1.333, 0.272, 1.989)
    """
    if limits not in ("log", "plain"):
        raise ValueError(f"limits are log or plain; got {limits!r}")
    reach = normal_deviate(level)
    watched = watched_events(events)
    start = int(watched.clock[0]) - 1 if len(watched.clock) else 0
    counted = watched.clock > (start if since is None else since)
    steps = mean_steps(watched, counted)
    failing = (watched.failures > 0) & counted
    mean = np.cumsum(steps.rise)[failing]
    error = np.sqrt(robust_variance(watched, steps, counted))[failing]
    lower, upper = np.maximum(mean - reach * error, 0.0), mean + reach * error
    if limits == "log":
        width = np.exp(reach * error / np.where(mean > 0, mean, 1.0))
        lower, upper = mean / width, mean * width
    begin = since if since is not None else start
    thin = thin_places(
        watched.clock, watched.at_risk, failing, smallest=smallest_risk_set, start=begin
    )
    later = watched.clock[watched.window_exit] > begin
    n = len(np.unique(watched.window_system[later]))
    first = int(watched.clock[watched.window_entry[later]].min()) if n else None
    failed = int(watched.failures[counted].sum())
    status, reason = _status_of(n, failed, thin, events.unit)
    return MeanCumulativeCurve(
        unit=events.unit,
        n=n,
        failed=failed,
        status=status,
        reason=reason,
        level=level,
        limits=limits,
        of_cost=events.cost is not None,
        since=since,
        smallest_risk_set=smallest_risk_set,
        watched_from=None if first is None else max(first, begin, 0),
        watched_to=int(watched.clock[watched.window_exit].max()) if n else None,
        reliable_to=thin[0] if thin else None,
        reliable_from=thin[-1] if thin else None,
        clock=watched.clock[failing],
        at_risk=watched.at_risk[failing],
        mean=mean,
        standard_error=error,
        lower=lower,
        upper=upper,
        _watched=watched,
    )


def _status_of(n: int, failed: int, thin: list[int], unit: str) -> tuple[Status, str]:
    if n == 0:
        return Status.NO_LIVES, "no system was watched"
    if thin:
        return Status.SMALL_RISK_SET, (
            f"at {spoken(thin[0], unit)} few or no systems were at risk, while more came under "
            f"watch later; ask for failures since {spoken(thin[-1], unit)}"
        )
    if n == 1:
        return Status.FEW_CLUSTERS, "one system does not show how much systems differ"
    if failed == 0:
        return Status.NO_FAILURES, f"none of {spoken(n)} systems failed while watched"
    return Status.OK, ""

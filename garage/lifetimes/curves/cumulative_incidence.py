"""Cumulative incidence: which share has failed of each cause, where causes compete."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import (
    LEVEL,
    LimitsKind,
    none_failed_lower,
    share_limits,
)
from garage.lifetimes.curves.product_limit import REACHED_SLACK, SMALLEST_RISK_SET, product_limit
from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

VarianceKind = Literal["delta", "counting-process"]


@dataclass(frozen=True, slots=True)
class IncidenceAt:
    """Share failed of one cause at one clock value; `value` is None where `reason` says so."""

    cause: str
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
class StateMeans:
    """Mean clock spent free of failure and failed of each cause, within a horizon."""

    until: float
    free: float | None
    by_cause: tuple[float, ...] | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class IncidenceCurves:
    """One curve a cause at the clock values where anything failed.

    Made by `cumulative_incidence`. Incidences and `event_free` add up to 1.

    Attributes
    ----------
    n, failed : int
        Lives watched, failures seen over all causes.
    failed_by_cause : tuple of int
    clock, at_risk, event_free : arrays, shape (f,)
    incidence, standard_error, lower, upper : arrays, shape (c, f)
        Just after each failure. Where a cause has not struck yet the error is 0 and the
        upper limit is 1; `at` gives an exact upper limit there.
    """

    unit: str
    n: int
    failed: int
    status: Status
    reason: str
    level: float
    variance: VarianceKind
    causes: tuple[str, ...]
    failed_by_cause: tuple[int, ...]
    watched_to: int | None
    reliable_to: int | None
    smallest_risk_set: int
    clock: IntArray
    at_risk: FloatArray
    event_free: FloatArray
    incidence: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray
    _table: RiskTable = field(repr=False)

    def at(self, cause: str, clock: float) -> IncidenceAt:
        """Share failed of `cause` by `clock`, with its limits and the number still at risk."""
        if cause not in self.causes:
            raise ValueError(f"the causes of these curves are {list(self.causes)}; got {cause!r}")
        number = self.causes.index(cause)
        at_risk = float(self._table.at_risk_at(clock))
        figures: tuple[float | None, float | None, float | None] = (None, None, None)
        status, reason = self._figure_status(clock, at_risk)
        if status in (Status.OK, Status.SMALL_RISK_SET) and not self._unreliable(clock):
            figures = self._figures(number, clock, at_risk)
        return IncidenceAt(
            cause,
            clock,
            *figures,
            at_risk,
            self.n,
            self.failed_by_cause[number],
            status,
            reason,
        )

    def mean_time(self, until: float) -> StateMeans:
        """Mean clock spent in each state from 0 to `until`: the areas under the curves."""
        status, reason = self._figure_status(until, float(self._table.at_risk_at(until)))
        if status is Status.SMALL_RISK_SET and not self._unreliable(until):
            status, reason = Status.OK, ""
        if status is not Status.OK:
            return StateMeans(until, None, None, self.n, self.failed, status, reason)
        inside = self.clock <= until
        widths = np.diff(np.concatenate([[0.0], self.clock[inside], [until]]))
        free = float(widths @ np.concatenate([[1.0], self.event_free[inside]]))
        by_cause = tuple(float(widths[1:] @ each[inside]) for each in self.incidence)
        return StateMeans(until, free, by_cause, self.n, self.failed, status, reason)

    def _unreliable(self, clock: float) -> bool:
        return self.reliable_to is not None and clock >= self.reliable_to

    def _figure_status(self, clock: float, at_risk: float) -> tuple[Status, str]:
        if self.watched_to is None:
            return Status.NO_LIVES, self.reason
        if self._unreliable(clock):
            return Status.SMALL_RISK_SET, self.reason
        all_ended = len(self.clock) > 0 and self.event_free[-1] <= REACHED_SLACK
        if clock < 0 or (clock > self.watched_to and not all_ended):
            return (
                Status.BEYOND_WATCH,
                f"lives were watched from 0 to {spoken(self.watched_to, self.unit)}",
            )
        if at_risk < self.smallest_risk_set and clock > 0:
            return (
                Status.SMALL_RISK_SET,
                f"only {spoken(at_risk)} at risk at {spoken(clock, self.unit)}",
            )
        return Status.OK, ""

    def _figures(
        self, number: int, clock: float, at_risk: float
    ) -> tuple[float, float | None, float | None]:
        step = int(np.searchsorted(self.clock, clock, side="right")) - 1
        if step < 0 or self.incidence[number, step] <= 0:
            lowest = none_failed_lower(at_risk, self.level)
            return 0.0, 0.0, None if lowest is None else 1 - lowest
        return (
            float(self.incidence[number, step]),
            float(self.lower[number, step]),
            float(self.upper[number, step]),
        )


def cumulative_incidence(
    table: RiskTable,
    *,
    level: float = LEVEL,
    limits: LimitsKind = "log-log",
    variance: VarianceKind = "delta",
    smallest_risk_set: int = SMALLEST_RISK_SET,
) -> IncidenceCurves:
    """Estimate the share failed of each cause by each clock value, causes competing.

    Parameters
    ----------
    table : RiskTable
        Its causes compete: a life that failed of one cannot fail of another.
    level : float
        Of the two-sided limits.
    limits : {"log-log", "log", "plain"}
        Scale of the incidence on which the limits are symmetric.
    variance : {"delta", "counting-process"}
        "delta" sums the squared influence of every life at every step; without delayed entry
        it is the infinitesimal jackknife that R's survival package prints. "counting-process"
        is that of R's package cmprsk, for failures all seen. They differ in the third digit.
    smallest_risk_set : int
        As in `product_limit`.

    Returns
    -------
    IncidenceCurves

    Notes
    -----
    Aalen and Johansen's estimate: the rise at a step is the share free of any failure just
    before it, times corrected / at risk. A loss tied with a failure counts as at risk; causes
    tied with one another share the same risk set.
    Sources: Aalen and Johansen, Scandinavian Journal of Statistics 5, 1978, 141-150; Gray,
    Annals of Statistics 16, 1988, 1141-1154 (both from memory; values checked).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> exits, cause = [1, 2, 3, 4, 5, 6, 7, 8, 6, 7, 8], [1, 1, 2, 0, 1, 1, 3, 0, 2, 3, 0]
    >>> lives = LivesArrays([0] * 11, exits, cause)
    >>> table = RiskTable.from_lives(lives, unit="days", causes=("one", "two", "three"))
    >>> round(cumulative_incidence(table).at("one", 7).value, 4)
    0.3896
    """
    if variance not in ("delta", "counting-process"):
        raise ValueError(f"variance is delta or counting-process; got {variance!r}")
    steps = CurveSteps.from_table(table)
    free = product_limit(table, level=level, smallest_risk_set=smallest_risk_set)
    before = np.concatenate([[1.0], free.survival[:-1]])[: len(steps.clock)]
    incidence = np.asarray(np.cumsum(before * steps.hazard, axis=1), np.float64)
    terms = _delta_terms if variance == "delta" else _counting_terms
    spread = np.array(
        [
            _accumulated(*terms(steps, before, number), incidence[number])
            for number in range(len(table.causes))
        ]
    ).reshape(incidence.shape)
    error = np.sqrt(np.maximum(spread, 0.0))
    lower, upper = np.zeros_like(incidence), np.ones_like(incidence)
    inside = (incidence > 0) & (incidence < 1 - REACHED_SLACK)
    lower[inside], upper[inside] = share_limits(
        incidence[inside], error[inside], level=level, kind=limits
    )
    # Every life failed of this one cause: no limit is known but the estimate's own bound.
    lower[incidence >= 1 - REACHED_SLACK] = 0.0
    return IncidenceCurves(
        unit=table.unit,
        n=table.n,
        failed=table.failed_total,
        status=free.status,
        reason=free.reason,
        level=level,
        variance=variance,
        causes=table.causes,
        failed_by_cause=tuple(int(each) for each in table.failed.sum(axis=1)),
        watched_to=free.watched_to,
        reliable_to=free.reliable_to,
        smallest_risk_set=smallest_risk_set,
        clock=steps.clock,
        at_risk=steps.at_risk,
        event_free=free.survival,
        incidence=incidence,
        standard_error=error,
        lower=lower,
        upper=upper,
        _table=table,
    )


def _accumulated(
    constant: FloatArray, linear: FloatArray, square: FloatArray, incidence: FloatArray
) -> FloatArray:
    """Sum over steps s <= t of constant - 2 g linear + g**2 square, with g = F(t) - F(s)."""
    held = np.cumsum(constant + 2 * incidence * linear + incidence**2 * square)
    lean = np.cumsum(linear + incidence * square)
    return np.asarray(held - 2 * incidence * lean + incidence**2 * np.cumsum(square), np.float64)


def _delta_terms(
    steps: CurveSteps, before: FloatArray, number: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Squared influences of the lives at each step, as a polynomial in F(t) - F(s).

    A life's influence at step s is w (own - hazard of the cause) - g e (any - hazard), with
    w = S(s-) / at risk and e = 1 / (at risk * (1 - hazard)).
    """
    hazard, at_risk, own_hazard = steps.total_hazard, steps.at_risk, steps.hazard[number]
    left = hazard < 1
    weight = before / at_risk
    edge = np.where(left, 1 / (at_risk * np.where(left, 1 - hazard, 1.0)), 0.0)
    unfailed = at_risk - steps.failed.sum(axis=0)
    constant = unfailed * (weight * own_hazard) ** 2
    linear = unfailed * weight * own_hazard * edge * hazard
    square = unfailed * (edge * hazard) ** 2
    for cause, (failed, seen) in enumerate(zip(steps.failed, steps.inverse_capture, strict=True)):
        own = weight * ((seen if cause == number else 0.0) - own_hazard)
        any_ = edge * (seen - hazard)
        constant = constant + failed * own**2
        linear = linear + failed * own * any_
        square = square + failed * any_**2
    return constant, linear, square


def _counting_terms(
    steps: CurveSteps, before: FloatArray, number: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Variances of the counting processes, ties by the hypergeometric law, as a polynomial."""
    hazard, at_risk = steps.total_hazard, steps.at_risk
    left = hazard < 1
    kept = np.where(left, 1 / np.where(left, 1 - hazard, 1.0), 0.0)
    own = steps.failed[number].astype(np.float64)
    others = steps.failed.sum(axis=0) - own

    def spread(count: FloatArray) -> FloatArray:
        tied = 1 - np.maximum(count - 1, 0) / np.maximum(at_risk - 1, 1)
        return np.asarray(tied * count / at_risk**2, np.float64)

    # Own failures move F(t) by S(s-) - g / (1 - h), failures of other causes by -g / (1 - h).
    mine, theirs = spread(own), spread(others) * left
    return before**2 * mine, before * kept * mine, kept**2 * (mine + theirs)

"""Do two groups of systems fail equally often, repeats and all?"""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.comparison.contrast import ChiSquare
from garage.lifetimes.comparison.two_groups import Contrast, Remark, contrast_of, weightiest
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.curves.mean_cumulative import MeanCumulativeAt, MeanCumulativeCurve
from garage.lifetimes.curves.recurrent_events import (
    RecurrentEvents,
    WatchedEvents,
    watched_events,
)
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class MeanCumulativeDifference:
    """First mean less the second at one clock value; None where `reason` says so."""

    clock: float
    first: MeanCumulativeAt
    second: MeanCumulativeAt
    value: float | None
    standard_error: float | None
    lower: float | None
    upper: float | None
    p_value: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class MeanCumulativeTest:
    """Whether two groups fail equally often over the whole clock.

    Attributes
    ----------
    statistic, p_value : float or None
        Chi-square on one degree of freedom, and how often chance alone gives as much.
    observed, expected : tuple of two
        Failures, or cost, of each group where both were under watch; and expected if both
        failed equally often.
    n, failed : int
        Systems watched and failures seen, both groups together.
    """

    statistic: float | None
    p_value: float | None
    observed: tuple[float, float]
    expected: tuple[float, float]
    n: int
    failed: int
    status: Status
    reason: str


def mean_cumulative_difference(
    first: MeanCumulativeCurve,
    second: MeanCumulativeCurve,
    clock: float,
    *,
    level: float = LEVEL,
) -> MeanCumulativeDifference:
    """Say how many more failures, or how much more cost, one group has had by `clock`.

    Parameters
    ----------
    first, second : MeanCumulativeCurve
        Of two groups that share no systems, on one clock, counted since the same value.
    clock : float
        Chosen beforehand: the clock value of the largest difference says too much.
    level : float
        Of the two-sided limits, which are plain.

    Returns
    -------
    MeanCumulativeDifference
        None, with a status and the group named, where a curve has no figure; a value without
        limits where a group shows no spread.

    Raises
    ------
    ValueError
        If the clocks differ, the values counted since, or one curve is of cost and one not.

    Notes
    -----
    The robust variances add. Sources: Lawless and Nadeau, Technometrics 37, 1995, 158-168;
    Doganaksoy and Nelson, Lifetime Data Analysis 4, 1998 (both from memory).

    Examples
    --------
    >>> from garage.lifetimes.curves.mean_cumulative import mean_cumulative
    >>> fleet = {"entry": [0] * 4, "exit": [90] * 4, "unit": "thousand km"}
    >>> often = RecurrentEvents([1, 2, 3, 4], event_system=[1, 1, 1, 2, 3],
    ...                         event_clock=[20, 45, 70, 60, 65], **fleet)
    >>> seldom = RecurrentEvents([1, 2, 3, 4], event_system=[2, 3], event_clock=[80, 85], **fleet)
    >>> curves = [mean_cumulative(each, smallest_risk_set=2) for each in (often, seldom)]
    >>> by_end = mean_cumulative_difference(*curves, 90)
    >>> by_end.value, round(by_end.lower, 3), round(by_end.upper, 3)
    (0.75, -0.425, 1.925)
    """
    if (first.unit, first.since, first.of_cost) != (second.unit, second.since, second.of_cost):
        raise ValueError(
            "means are compared on one clock, counted since one value, both of failures or both "
            f"of cost; got {_form(first)} and {_form(second)}"
        )
    reach = normal_deviate(level)
    one, two = first.at(clock), second.at(clock)
    found: Contrast | None = None
    if one.value is not None and two.value is not None:
        error = None
        if one.standard_error and two.standard_error:
            error = float(np.hypot(one.standard_error, two.standard_error))
        found = contrast_of(one.value - two.value, error, reach)
    status, reason = _remark_on(one, two)
    return MeanCumulativeDifference(
        clock=clock,
        first=one,
        second=two,
        value=found.value if found else None,
        standard_error=found.standard_error if found else None,
        lower=found.lower if found else None,
        upper=found.upper if found else None,
        p_value=found.p_value if found else None,
        n=first.n + second.n,
        failed=first.failed + second.failed,
        status=status,
        reason=reason,
    )


def _form(curve: MeanCumulativeCurve) -> str:
    kind = "cost" if curve.of_cost else "failures"
    return f"{kind} on {curve.unit} since {curve.since}"


def _remark_on(one: MeanCumulativeAt, two: MeanCumulativeAt) -> tuple[Status, str]:
    """The weightiest remark on either figure: none at all, no error, then few at risk."""
    remarks: list[Remark] = []
    for name, here in (("first", one), ("second", two)):
        group = f"in the {name} group"
        if here.value is None:
            remarks.append(Remark(0, here.status, f"{group} {here.reason}"))
        elif here.value == 0:
            remarks.append(Remark(1, Status.NO_FAILURES, f"{group} none had failed by then"))
        elif not here.standard_error:
            remarks.append(Remark(1, here.status, f"{group} {here.reason}"))
        elif here.status is not Status.OK:
            remarks.append(Remark(2, here.status, f"{group} {here.reason}"))
    return weightiest(remarks)


def mean_cumulative_test(first: RecurrentEvents, second: RecurrentEvents) -> MeanCumulativeTest:
    """Judge whether two groups of systems fail equally often over the whole clock.

    Parameters
    ----------
    first, second : RecurrentEvents
        Two groups that share no systems, on one clock; both with `cost`, or neither.

    Returns
    -------
    MeanCumulativeTest
        `statistic` and `p_value` are None, with a status, where a group has fewer than two
        systems, nothing failed, or no failure fell where both groups were under watch.

    Raises
    ------
    ValueError
        If the clocks differ, one group has costs and one not, or from `watched_events`.

    Notes
    -----
    Observed less expected failures of one group, summed over the clock as in a log-rank test
    (weight Y1 Y2 / (Y1 + Y2) on the difference of the two means' rises), over its robust
    variance: the sum over systems of their squared parts, residuals being taken from the mean
    of both groups, as the hypothesis says. Repeats on one system may depend on one another.
    It equals the robust score test of R's ``coxph(Surv(t1, t2, failed) ~ group, id = id,
    cluster = id, ties = "breslow")``. It has power where one group fails oftener throughout;
    where the means cross it may see nothing.

    Sources: Lawless and Nadeau, Technometrics 37, 1995, 158-168; Cook, Lawless and Nadeau,
    Biometrics 52, 1996, 557-571 (both from memory; values checked).

    Examples
    --------
    >>> fleet = {"entry": [0] * 4, "exit": [90] * 4, "unit": "thousand km"}
    >>> often = RecurrentEvents([1, 2, 3, 4], event_system=[1, 1, 1, 2, 3],
    ...                         event_clock=[20, 45, 70, 60, 65], **fleet)
    >>> seldom = RecurrentEvents([1, 2, 3, 4], event_system=[2, 3], event_clock=[80, 85], **fleet)
    >>> found = mean_cumulative_test(often, seldom)
    >>> found.observed, found.expected, round(found.p_value, 3)
    ((5.0, 2.0), (3.5, 3.5), 0.253)
    """
    if first.unit != second.unit or (first.cost is None) != (second.cost is None):
        raise ValueError(
            "groups are compared on one clock, both by failures or both by cost; got "
            f"{first.unit}, cost {first.cost is not None}, and {second.unit}, cost "
            f"{second.cost is not None}"
        )
    groups = watched_events(first), watched_events(second)
    failing = [each.clock[each.failures > 0] for each in groups]
    clock = np.unique(np.concatenate(failing))
    at_risk = np.array([each.at_risk_at(clock) for each in groups])
    total = np.array([_total_at(each, clock) for each in groups])
    together = np.all(at_risk > 0, axis=0)
    watching = np.where(together, at_risk.sum(axis=0), 1.0)
    share = np.where(together, at_risk / watching, 0.0)
    rise = total.sum(axis=0) / watching
    observed = (total * together).sum(axis=1)
    expected = (total.sum(axis=0) * share).sum(axis=1)
    spread = sum(
        _squared_parts(each, clock, other_share, rise)
        for each, other_share in zip(groups, share[::-1], strict=True)
    )
    status, reason = _judgement(groups, bool(observed.sum() > 0), spread > 0)
    statistic = float((observed[0] - expected[0]) ** 2 / spread) if status is Status.OK else None
    return MeanCumulativeTest(
        statistic=statistic,
        p_value=ChiSquare(statistic, 1).p_value,
        observed=(float(observed[0]), float(observed[1])),
        expected=(float(expected[0]), float(expected[1])),
        n=groups[0].n + groups[1].n,
        failed=int(groups[0].failures.sum() + groups[1].failures.sum()),
        status=status,
        reason=reason,
    )


def _total_at(watched: WatchedEvents, clock: IntArray) -> FloatArray:
    place = np.searchsorted(clock, watched.clock[watched.mark_place])
    return np.asarray(np.bincount(place, watched.mark_size, len(clock)), np.float64)


def _squared_parts(
    watched: WatchedEvents, clock: IntArray, weight: FloatArray, rise: FloatArray
) -> float:
    """Sum over systems of (weighted failures - weighted mean while under watch), squared."""
    place = np.searchsorted(clock, watched.clock[watched.mark_place])
    own = np.bincount(watched.mark_system, watched.mark_size * weight[place], watched.n)
    drift = np.concatenate([[0.0], np.cumsum(weight * rise)])
    begin, end = (
        np.searchsorted(clock, watched.clock[each], side="right")
        for each in (watched.window_entry, watched.window_exit)
    )
    due = np.bincount(watched.window_system, drift[end] - drift[begin], watched.n)
    return float(np.sum((own - due) ** 2))


def _judgement(
    groups: tuple[WatchedEvents, WatchedEvents], together: bool, spread: bool
) -> tuple[Status, str]:
    for name, each in zip(("first", "second"), groups, strict=True):
        if each.n < 2:
            return Status.FEW_CLUSTERS, (
                f"the {name} group has fewer than two systems, so how much they differ is unknown"
            )
    if not any(np.any(each.failures > 0) for each in groups):
        return Status.NO_FAILURES, "none failed in either group"
    if not together:
        return Status.CANNOT_TELL_APART, "nothing failed where both groups were under watch"
    if not spread:
        return Status.CANNOT_TELL_APART, "all systems had the same failures"
    return Status.OK, ""

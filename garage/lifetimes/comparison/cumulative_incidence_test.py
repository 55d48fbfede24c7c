"""Gray's test: do groups differ in the share that fails of one cause, where causes compete?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.comparison.alike import refuse_unlike
from garage.lifetimes.comparison.contrast import ChiSquare, contrast_statistic
from garage.lifetimes.risk_table import COUNT_SLACK, RiskTable
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class IncidenceTest:
    """Whether groups differ in the cumulative incidence of one cause.

    Attributes
    ----------
    cause : str
    statistic, p_value : float or None
        Chi-square on `degrees_of_freedom`, and how often chance alone gives as much.
    observed, expected : tuple, one a group
        Failures of the cause seen, and expected if the groups had one incidence.
    n, failed : int
        Lives watched, and failures of this cause among them.
    """

    cause: str
    statistic: float | None
    degrees_of_freedom: int
    p_value: float | None
    observed: tuple[int, ...]
    expected: tuple[float, ...]
    n: int
    failed: int
    status: Status
    reason: str


def cumulative_incidence_test(groups: Sequence[RiskTable], *, cause: str) -> IncidenceTest:
    """Judge whether groups differ in the share that fails of `cause` over the clock.

    Parameters
    ----------
    groups : sequence of RiskTable, two or more
        One a group, on one clock, with the same causes, all watched from their start.
    cause : str
        The cause in question; the others compete with it.

    Returns
    -------
    IncidenceTest
        `statistic` and `p_value` are None, with a status, where a group has no lives, nothing
        failed of the cause, or the groups were never at risk together.

    Raises
    ------
    ValueError
        For fewer than two groups, unlike clocks or causes, lives that came under watch late
        (the test is defined for lives watched from their start), or failures divided by a
        capture share (no test is known for those; resample vehicles).

    Notes
    -----
    A life that has failed of another cause goes on being counted, with the chance that it
    would still be watched: a group's risk set is Y (1 - F) / S, its number at risk times the
    share not failed of the cause over the share free of any failure. Observed less expected is
    Gray's score with rho = 0 and the variance his, with a finite-sample factor for ties, as
    R's package cmprsk takes it. Without competing causes the score is the log-rank's, the
    variance another estimate of the same.

    It asks what share ends up failed. Whether those still at risk fail at different rates is
    another question: the log-rank test of ``table.cause_alone(cause)``. The two may disagree.

    Source: Gray, Annals of Statistics 16, 1988, 1141-1154 (from memory; values checked).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> cleaned = LivesArrays([0] * 8, [2, 3, 3, 5, 6, 8, 9, 9], [1, 1, 1, 2, 1, 1, 2, 0])
    >>> replaced = LivesArrays([0] * 8, [4, 5, 7, 8, 9, 9, 9, 9], [2, 1, 2, 1, 0, 0, 0, 0])
    >>> groups = [RiskTable.from_lives(each, unit="months", causes=("comeback", "sold"))
    ...           for each in (cleaned, replaced)]
    >>> found = cumulative_incidence_test(groups, cause="comeback")
    >>> round(found.statistic, 3), round(found.p_value, 3)
    (2.542, 0.111)
    """
    return stratified_cumulative_incidence_test([groups], cause=cause)


def stratified_cumulative_incidence_test(
    strata: Sequence[Sequence[RiskTable]], *, cause: str
) -> IncidenceTest:
    """The same, groups being compared only within strata, such as engine families.

    Parameters
    ----------
    strata : sequence of sequences of RiskTable
        The groups in the same order in every stratum; a group may be empty in some of them.
    cause : str

    Notes
    -----
    Scores and variances are added over the strata. See `cumulative_incidence_test`.
    """
    _refuse_form(strata, cause)
    count = len(strata[0])
    scores = [_score_of(groups, cause) for groups in strata]
    observed = sum((each.observed for each in scores), np.zeros(count))
    expected = sum((each.expected for each in scores), np.zeros(count))
    variance = sum((each.variance for each in scores), np.zeros((count, count)))
    n = sum(table.n for groups in strata for table in groups)
    status, reason, statistic = _judged(strata, observed, expected, variance)
    return IncidenceTest(
        cause=cause,
        statistic=statistic,
        degrees_of_freedom=count - 1,
        p_value=ChiSquare(statistic, count - 1).p_value,
        observed=tuple(int(each) for each in observed),
        expected=tuple(float(each) for each in expected),
        n=n,
        failed=int(observed.sum()),
        status=status,
        reason=reason,
    )


def _judged(
    strata: Sequence[Sequence[RiskTable]],
    observed: FloatArray,
    expected: FloatArray,
    variance: FloatArray,
) -> tuple[Status, str, float | None]:
    for number in range(len(observed)):
        if all(groups[number].n == 0 for groups in strata):
            return Status.NO_LIVES, f"group {number + 1} has no lives", None
    if observed.sum() == 0:
        return Status.NO_FAILURES, "none failed of this cause in any group", None
    statistic = contrast_statistic(observed - expected, variance)
    if statistic is None:
        return Status.CANNOT_TELL_APART, "some groups were never at risk together", None
    return Status.OK, "", statistic


@dataclass(frozen=True, slots=True, eq=False)
class _Score:
    observed: FloatArray
    expected: FloatArray
    variance: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _GroupsOverTime:
    """Groups by clock values with a failure, shape (k, t): counts, and curves around them."""

    own: FloatArray
    other: FloatArray
    at_risk: FloatArray
    free_before: FloatArray
    free_after: FloatArray
    failed_before: FloatArray


def _over_time(groups: Sequence[RiskTable], cause: str) -> _GroupsOverTime:
    number = groups[0].causes.index(cause)
    clock = np.unique(
        np.concatenate([table.clock[np.any(table.failed > 0, axis=0)] for table in groups])
    )
    at_risk = np.array([table.at_risk_at(clock) for table in groups])
    counts = np.array([_failures_at(table, clock) for table in groups])
    own = counts[:, number].astype(np.float64)
    other = counts.sum(axis=1) - own
    watched = np.where(at_risk > 0, at_risk, 1.0)
    free_after = np.cumprod(1 - np.minimum((own + other) / watched, 1.0), axis=1)
    free_before = _delayed(free_after, 1.0)
    failed_after = np.cumsum(free_before * own / watched, axis=1)
    return _GroupsOverTime(
        own, other, at_risk, free_before, free_after, _delayed(failed_after, 0.0)
    )


def _failures_at(table: RiskTable, clock: IntArray) -> IntArray:
    counts = np.zeros((len(table.causes), len(clock)), np.int64)
    kept = np.any(table.failed > 0, axis=0)
    counts[:, np.searchsorted(clock, table.clock[kept])] = table.failed[:, kept]
    return counts


def _delayed(after: FloatArray, first: float) -> FloatArray:
    before = np.full_like(after, first)
    before[:, 1:] = after[:, :-1]
    return before


def _score_of(groups: Sequence[RiskTable], cause: str) -> _Score:
    """Gray's score and its variance in one stratum.

    With R = Y / S(t-) the pooled incidence rises by (failures of the cause) / sum of R; group
    k's martingale enters the score of group i by a plain part, and by how the curves of k
    that stand in the later risk sets move with it (`later`).
    """
    over = _over_time(groups, cause)
    count, moments = over.own.shape
    if moments == 0:
        return _Score(np.zeros(count), np.zeros(count), np.zeros((count, count)))
    weight = _ratio(over.at_risk, over.free_before)
    total = weight.sum(axis=0)
    failing = over.own.sum(axis=0)
    standing = weight * (1 - over.failed_before)
    expected = _ratio(failing * standing, standing.sum(axis=0))
    pooled = np.cumsum(_ratio(failing, total))
    unfailed_before = np.maximum(1 - np.concatenate([[0.0], pooled[:-1]]), 0.0)
    unfailed = np.maximum(1 - pooled, 0.0)
    variance = np.zeros((count, count))
    for group in range(count):
        lean = -weight[group] * _ratio(weight, total)
        lean[group] += weight[group]
        summed = np.cumsum(lean * _ratio(failing, total * unfailed_before), axis=1)
        later = summed[:, -1:] - summed
        share = _ratio(unfailed, over.free_after[group])
        at_risk, free = over.at_risk[group], over.free_before[group]
        spread = _ratio(failing, total * weight[group]) * _ties(failing, total * free)
        effect = lean + (1 - share) * later
        variance += (effect * spread) @ effect.T
        spread = _ratio(free**2 * over.other[group], at_risk**2)
        spread = spread * _ties(over.other[group], at_risk)
        effect = share * later
        variance += (effect * spread) @ effect.T
    return _Score(over.own.sum(axis=1), expected.sum(axis=1), variance)


def _ratio(above: FloatArray, below: FloatArray) -> FloatArray:
    """above / below; 0 where nobody stands below."""
    there = below > 0
    return np.asarray(np.where(there, above / np.where(there, below, 1.0), 0.0), np.float64)


def _ties(failing: FloatArray, among: FloatArray) -> FloatArray:
    """What is left of a variance when failures are drawn together without replacement."""
    tied = failing > 1
    return np.where(tied, 1 - (failing - 1) / np.maximum(among - 1, np.maximum(failing - 1, 1)), 1)


def _refuse_form(strata: Sequence[Sequence[RiskTable]], cause: str) -> None:
    refuse_unlike(strata)
    for table in (each for groups in strata for each in groups):
        late = table.clock[(table.entered > 0) & (table.clock > 0)]
        if len(late):
            raise ValueError(
                "this test takes lives watched from their start, for with late entry a life "
                "that failed of another cause before has no place in the risk set; got lives "
                f"that entered at {int(late[0])} {table.unit}. Leave them out, or compare the "
                "rates of the cause with a log-rank test"
            )
        if np.any(np.abs(table.corrected - table.failed) > COUNT_SLACK):
            raise ValueError(
                "this test counts failures seen; got failures divided by a capture share. "
                "Resample vehicles to compare corrected curves"
            )
    causes = strata[0][0].causes
    if cause not in causes:
        raise ValueError(f"the causes of these tables are {list(causes)}; got {cause!r}")

"""The log-rank tests: do groups of lives fail at different rates?"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.comparison.alike import refuse_unlike
from garage.lifetimes.comparison.contrast import ChiSquare, contrast_statistic
from garage.lifetimes.comparison.group_steps import GroupSteps
from garage.lifetimes.comparison.log_rank_weights import (
    LOG_RANK,
    LogRankWeights,
    survival_before,
)
from garage.lifetimes.counting import blocks
from garage.lifetimes.life_rows import LivesArrays
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

STEPS_AT_A_TIME = 2**13
"""Steps judged at a time. Judgement, measured on 172 000 steps of three groups."""

UNEQUAL_CAPTURE = 0.01
"""Of a capture share; groups whose shares differ by more are marked. Such a difference alone
makes rates differ as much, which no workshop has failures enough to see. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class LogRankResult:
    """Whether groups fail at different rates.

    Attributes
    ----------
    statistic, p_value : float or None
        Chi-square on `degrees_of_freedom`, and how often chance alone gives as much.
    observed, expected : tuple of float, one a group
        Failures seen, and expected if all groups failed at one rate; weighted, where weights
        are not those of the log-rank.
    variance : tuple of tuple of float, k by k
        Of observed less expected.
    n, failed : int
        Lives watched and failures seen.
    status : Status
        ``UNEQUAL_CAPTURE``: the figures are there, but speak of failures seen, not of all.
    """

    statistic: float | None
    degrees_of_freedom: int
    p_value: float | None
    observed: tuple[float, ...]
    expected: tuple[float, ...]
    variance: tuple[tuple[float, ...], ...]
    n: int
    failed: int
    status: Status
    reason: str


def log_rank(
    groups: Sequence[RiskTable],
    *,
    weights: LogRankWeights = LOG_RANK,
    scores: Sequence[float] | None = None,
) -> LogRankResult:
    """Judge whether groups fail at different rates over the clock.

    Parameters
    ----------
    groups : sequence of k RiskTables, two or more
        On one clock; every cause counts as a failure (choose one with ``table.cause_alone``).
        Delayed entry and fractional withdrawals are in the tables already.
    weights : LogRankWeights
        Whether early or late failures count for more; choose before looking.
    scores : k numbers, optional
        Asks whether rates rise (or fall) along these numbers, on one degree of freedom,
        instead of whether they differ at all.

    Returns
    -------
    LogRankResult
        `statistic` and `p_value` are None, with a status, where a group has no lives
        (``NO_LIVES``), nothing failed (``NO_FAILURES``), groups were never at risk together
        (``CANNOT_TELL_APART``), or Fleming and Harrington's weights come from a curve that
        fell to 0 before the last failure (``SMALL_RISK_SET``).

    Raises
    ------
    ValueError
        For fewer than two groups, unlike clocks or causes, or scores that are not k different
        numbers.

    Notes
    -----
    At each clock value with d failures among Y at risk, d Y_g / Y are expected in group g; the
    variance is hypergeometric, for ties:
    w^2 d (Y - d) / (Y - 1) (Y_g / Y) (1[g = h] - Y_h / Y), 0 where Y is 1 or less. The short
    form, the sum of (O - E)^2 / E, differs and is not used. It equals the score test of a
    proportional-hazards model with the exact form of ties; untied, with any.

    It runs on failures *seen*. Divided by a capture share they would be no counts, and their
    variance another; where the share is the same in all groups the test of those seen is the
    test of all. Where it differs by more than ``UNEQUAL_CAPTURE`` a group may only seem
    better because its failures went elsewhere, and the result says so.

    Lives are taken as independent. Two parts of one vehicle are not: use
    `proportional_hazards` with the vehicle as cluster.

    Sources: Mantel, Cancer Chemotherapy Reports 50, 1966; Peto and Peto, Journal of the Royal
    Statistical Society A 135, 1972; Klein and Moeschberger, Survival Analysis, 2nd edition
    2003, sections 7.3 to 7.5 (all from memory; values checked, see the project's check
    values).

    Examples
    --------
    >>> cleaned = LivesArrays([0] * 6, [1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1])
    >>> replaced = LivesArrays([0] * 6, [4, 7, 9, 11, 12, 12], [0, 1, 0, 1, 0, 0])
    >>> groups = [RiskTable.from_lives(each, unit="months") for each in (cleaned, replaced)]
    >>> found = log_rank(groups)
    >>> found.observed, [round(each, 3) for each in found.expected]
    ((4.0, 2.0), [1.875, 4.125])
    >>> round(found.statistic, 3), round(found.p_value, 3)
    (4.318, 0.038)
    """
    return stratified_log_rank([groups], weights=weights, scores=scores)


def stratified_log_rank(
    strata: Sequence[Sequence[RiskTable]],
    *,
    weights: LogRankWeights = LOG_RANK,
    scores: Sequence[float] | None = None,
) -> LogRankResult:
    """The same, groups being compared only within strata, such as engine families.

    Parameters
    ----------
    strata : sequence of sequences of k RiskTables
        The groups in the same order in every stratum; a group may be empty in some of them.
    weights, scores
        As of `log_rank`; weights come from each stratum's own counts.

    Notes
    -----
    Scores and variances are added over the strata. See `log_rank`.
    """
    refuse_unlike(strata)
    return _judged([GroupSteps.from_tables(groups) for groups in strata], weights, scores)


def log_rank_of_lives(
    lives: LivesArrays,
    group: ArrayLike,
    *,
    weights: LogRankWeights = LOG_RANK,
    scores: Sequence[float] | None = None,
) -> LogRankResult:
    """The same for lives one by one, without making tables first.

    Parameters
    ----------
    lives : LivesArrays, n of them
    group : array of whole numbers from 0, shape (n,)
    weights, scores
        As of `log_rank`.

    Examples
    --------
    >>> lives = LivesArrays([0] * 6, [1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1])
    >>> round(log_rank_of_lives(lives, [0, 0, 0, 1, 1, 1]).statistic, 3)
    2.0
    """
    steps = GroupSteps.from_lives(lives, group)
    if len(steps.n) < 2:
        raise ValueError(f"a comparison takes two or more groups; got {len(steps.n)}")
    return _judged([steps], weights, scores)


def _judged(
    strata: Sequence[GroupSteps], weights: LogRankWeights, scores: Sequence[float] | None
) -> LogRankResult:
    count = len(strata[0].n)
    direction = None if scores is None else _direction(scores, count)
    parts = [_score_of(steps, weights) for steps in strata]
    observed = np.sum([each.observed for each in parts], axis=0)
    expected = np.sum([each.expected for each in parts], axis=0)
    variance = np.sum([each.variance for each in parts], axis=0)
    n = int(sum(steps.n.sum() for steps in strata))
    failed = int(sum(steps.failed_total.sum() for steps in strata))
    status, reason = _why_not(strata, weights)
    statistic = None
    if status is Status.OK:
        statistic = _statistic(observed - expected, variance, direction)
        if statistic is None:
            status = Status.CANNOT_TELL_APART
            reason = "some groups were never at risk together when a part failed"
        else:
            status, reason = _capture_apart(strata)
    degrees = 1 if direction is not None else count - 1
    return LogRankResult(
        statistic=statistic,
        degrees_of_freedom=degrees,
        p_value=ChiSquare(statistic, degrees).p_value,
        observed=tuple(observed.tolist()),
        expected=tuple(expected.tolist()),
        variance=tuple(tuple(row) for row in variance.tolist()),
        n=n,
        failed=failed,
        status=status,
        reason=reason,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Score:
    observed: FloatArray
    expected: FloatArray
    variance: FloatArray

    def add(self, at_risk: NDArray[Any], failed: NDArray[Any], weight: FloatArray) -> None:
        """What failed at some steps, shape (k, s), with weights of shape (s,)."""
        at_risk, failed = at_risk.astype(np.float64), failed.astype(np.float64)
        all_at_risk, all_failed = at_risk.sum(axis=0), failed.sum(axis=0)
        share = at_risk / all_at_risk
        drawn = all_at_risk > 1
        spread = np.where(drawn, all_at_risk - 1, 1.0)
        np.divide(all_at_risk - all_failed, spread, out=spread)
        spread *= drawn
        all_failed *= weight
        spread *= all_failed
        spread *= weight
        # In place: the attributes are arrays that stay.
        np.add(self.observed, failed @ weight, out=self.observed)
        np.add(self.expected, share @ all_failed, out=self.expected)
        own = np.diag(share @ spread)
        np.add(self.variance, own - (share * spread) @ share.T, out=self.variance)


def _score_of(steps: GroupSteps, weights: LogRankWeights) -> _Score:
    """Observed, expected and hypergeometric variance of one stratum."""
    at_risk, failed = steps.all_at_risk, steps.all_failed
    weight, groups = weights.of(at_risk, failed), len(steps.n)
    score = _Score(np.zeros(groups), np.zeros(groups), np.zeros((groups, groups)))
    for some in blocks(0, len(at_risk), STEPS_AT_A_TIME):
        score.add(steps.at_risk[:, some], steps.failed[:, some], weight[some])
    return score


def _statistic(
    score: FloatArray, variance: FloatArray, direction: FloatArray | None
) -> float | None:
    if direction is None:
        return contrast_statistic(score, variance)
    # Two groups in the direction of the scores: those that lie along it, and against it.
    along, spread = float(direction @ score), float(direction @ variance @ direction)
    pair = np.array([[spread, -spread], [-spread, spread]])
    return contrast_statistic(np.array([along, -along]), pair)


def _why_not(strata: Sequence[GroupSteps], weights: LogRankWeights) -> tuple[Status, str]:
    """Why there can be no figure; ``OK`` where there can."""
    lives = np.sum([steps.n for steps in strata], axis=0)
    if np.any(lives == 0):
        return Status.NO_LIVES, f"group {int(np.argmin(lives)) + 1} has no lives; leave it out"
    if not any(len(steps.clock) for steps in strata):
        return Status.NO_FAILURES, f"none of {spoken(int(lives.sum()))} lives failed while watched"
    if weights.follows_survival:
        for steps in strata:
            at_risk, failed = steps.all_at_risk, steps.all_failed
            ended = np.flatnonzero(survival_before(at_risk, failed) <= 0)
            if len(ended):
                last = int(ended[0]) - 1
                return Status.SMALL_RISK_SET, (
                    f"all {spoken(float(at_risk[last]))} at risk at clock "
                    f"{spoken(int(steps.clock[last]))} failed there while more lives came under "
                    "watch later, so that survival gives no weights; take log-rank weights"
                )
    return Status.OK, ""


def _capture_apart(strata: Sequence[GroupSteps]) -> tuple[Status, str]:
    failed = np.sum([steps.failed_total for steps in strata], axis=0)
    corrected = np.sum([steps.corrected for steps in strata], axis=0)
    seen = failed > 0
    share = failed[seen] / corrected[seen]
    if share.max() - share.min() <= UNEQUAL_CAPTURE:
        return Status.OK, ""
    return Status.UNEQUAL_CAPTURE, (
        f"from {100 * share.min():.0f} to {100 * share.max():.0f} % of the groups' failures are "
        "seen; this test compares failures seen, so a group may only seem better because its "
        "failures went elsewhere"
    )


def _direction(scores: Sequence[float], count: int) -> FloatArray:
    direction = np.asarray(scores, np.float64)
    if direction.shape != (count,) or not np.all(np.isfinite(direction)):
        raise ValueError(
            f"`scores` are finite numbers, one a group; got {list(scores)} for {count} groups"
        )
    if np.ptp(direction) == 0:
        raise ValueError(f"`scores` differ between groups; got {list(scores)}. Leave them out.")
    # Differences alone matter; centred, they lose no digits.
    return np.asarray(direction - direction.mean(), np.float64)

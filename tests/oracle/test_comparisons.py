"""Tests between groups, hazard ratios and repeated failures against R's survival package."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.comparison.false_discovery import benjamini_hochberg
from garage.lifetimes.comparison.hazard_lives import HazardLives
from garage.lifetimes.comparison.holm import holm
from garage.lifetimes.comparison.log_rank import log_rank, stratified_log_rank
from garage.lifetimes.comparison.log_rank_weights import LogRankWeights
from garage.lifetimes.comparison.proportional_hazards import (
    ProportionalHazards,
    proportional_hazards,
)
from garage.lifetimes.comparison.proportionality import proportionality
from garage.lifetimes.curves.mean_cumulative import mean_cumulative
from garage.lifetimes.curves.recurrent_events import RecurrentEvents
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.oracle.conftest import Answers, R
from tests.oracle.lives import lives_with_everything

pytestmark = pytest.mark.oracle

LIVES = lives_with_everything(700, seed=9)
LATE = lives_with_everything(700, seed=10)
LATE_STRATUM = LATE.vehicle % 2


def groups(chosen: np.ndarray) -> list[RiskTable]:
    """One table a group, all watched from new."""
    return [
        RiskTable.from_lives(
            LivesArrays(np.zeros(int(mine.sum())), LIVES.exit[mine], LIVES.failed[mine]),
            unit="thousand km",
        )
        for mine in (chosen & (LIVES.group == each) for each in range(3))
    ]


def test_log_rank_equals_survdiff(r: R) -> None:
    answers = r(
        """
        d <- frame("lives"); d$stratum <- d$vehicle %% 2
        for (rho in c(0, 1, 0.5)) {
          s <- survdiff(Surv(exit, failed) ~ group, d, rho = rho)
          give(paste("rho", rho), c(s$chisq, s$exp, s$obs))
        }
        s <- survdiff(Surv(exit, failed) ~ group + strata(stratum), d)
        give("strata", s$chisq)
        """,
        lives=LIVES.frame(),
    )
    everyone = np.ones(LIVES.exit.size, bool)
    for rho in (0, 1, 0.5):
        found = log_rank(groups(everyone), weights=LogRankWeights("fleming-harrington", rho=rho))
        ours = [found.statistic, *found.expected, *found.observed]
        np.testing.assert_allclose(ours, answers[f"rho {rho:g}"], rtol=1e-9)
    assert log_rank(groups(everyone)).statistic == pytest.approx(answers["rho 0"][0], rel=1e-9)
    halves = [groups(LIVES.vehicle % 2 == each) for each in (0, 1)]
    assert stratified_log_rank(halves).statistic == pytest.approx(answers["strata"][0], rel=1e-9)


COLUMNS = np.column_stack([LATE.load, LATE.group == 1]).astype(float)
NAMES = ("load", "one")


def equals_coxph(fit: ProportionalHazards, answers: Answers) -> None:
    found = [each.coefficient for each in fit.ratios]
    np.testing.assert_allclose(found, answers["coefficients"], rtol=1e-7)
    np.testing.assert_allclose(fit.covariance.ravel(), answers["covariance"], rtol=1e-6)
    np.testing.assert_allclose(
        [fit.log_likelihood_null, fit.log_likelihood], answers["height"], rtol=1e-9
    )
    tests = [fit.score_test.statistic, fit.wald_test.statistic]
    np.testing.assert_allclose(tests, answers["tests"], rtol=1e-6)


@pytest.mark.parametrize("ties", ["efron", "breslow"])
def test_hazard_ratios_equal_coxph(r: R, ties) -> None:
    answers = r(
        f"""
        d <- frame("lives"); d$one <- as.numeric(d$group == 1)
        s <- coxph(Surv(entry, exit, failed) ~ load + one, d, ties = "{ties}",
                   control = coxph.control(eps = 1e-12, iter.max = 50))
        give("coefficients", coef(s)); give("covariance", vcov(s)); give("height", s$loglik)
        give("tests", c(s$score, s$wald.test))
        d$stratum <- d$vehicle %% 2
        s <- coxph(Surv(entry, exit, failed) ~ load + one + strata(stratum) + cluster(vehicle), d,
                   ties = "{ties}", control = coxph.control(eps = 1e-12, iter.max = 50))
        give("clustered", coef(s)); give("robust", vcov(s)); give("model", s$naive.var)
        s <- coxph(Surv(entry, exit, failed) ~ load + one, d, ties = "{ties}")
        give("identity", cox.zph(s, transform = "identity")$table[, "chisq"])
        """,
        lives=LATE.frame(),
    )
    given = HazardLives(LATE.entry, LATE.exit, LATE.failed, COLUMNS, names=NAMES)
    fit = proportional_hazards(given, ties=ties)
    equals_coxph(fit, answers)
    moving = proportionality(fit, against="identity")
    np.testing.assert_allclose(
        [*(each.statistic for each in moving.covariates), moving.together.statistic],
        answers["identity"],
        rtol=1e-5,
    )
    clustered = proportional_hazards(
        replace(given, stratum=LATE_STRATUM, cluster=LATE.vehicle), ties=ties
    )
    found = [each.coefficient for each in clustered.ratios]
    np.testing.assert_allclose(found, answers["clustered"], rtol=1e-7)
    np.testing.assert_allclose(clustered.covariance.ravel(), answers["robust"], rtol=1e-5)
    np.testing.assert_allclose(clustered.model_covariance.ravel(), answers["model"], rtol=1e-6)


@pytest.mark.parametrize(
    ("n", "left", "strata"),
    # With late entry R goes through every choice of the tied: it is given few lives.
    [(700, "", ""), (700, "", "+ strata(stratum)"), (120, "entry, ", "+ strata(stratum)")],
)
def test_exact_ties_equal_coxph(r: R, n: int, left: str, strata: str) -> None:
    # For late entry this R hands out a list without its class, which `coef` does not take.
    answers = r(
        f"""
        d <- frame("lives")[1:{n}, ]; d$one <- as.numeric(d$group == 1)
        d$stratum <- d$vehicle %% 2
        s <- coxph(Surv({left}exit, failed) ~ load + one {strata}, d, ties = "exact",
                   control = coxph.control(eps = 1e-11, iter.max = 50))
        give("coefficients", s$coefficients); give("covariance", s$var)
        give("height", s$loglik); give("tests", c(s$score, s$wald.test))
        """,
        lives=LATE.frame(),
    )
    lives = HazardLives(
        LATE.entry[:n] if left else np.zeros(n),
        LATE.exit[:n],
        LATE.failed[:n],
        COLUMNS[:n],
        names=NAMES,
        stratum=LATE_STRATUM[:n] if strata else None,
    )
    equals_coxph(proportional_hazards(lives, ties="exact"), answers)


def test_mean_cumulative_function_equals_survfit(r: R) -> None:
    # Every vehicle is watched on one stretch and fails at some clocks inside it.
    rng = np.random.default_rng(4)
    entry = np.where(rng.random(80) < 0.3, rng.integers(0, 60, 80), 0)
    end = entry + rng.integers(40, 150, 80)
    rows = {"id": [], "begin": [], "end": [], "failed": []}
    who, when = [], []
    for vehicle in range(80):
        inside = np.arange(entry[vehicle] + 1, end[vehicle])
        failures = np.sort(rng.choice(inside, rng.poisson(1.5 + (vehicle % 5)), replace=False))
        edges = [entry[vehicle], *failures, end[vehicle]]
        for begin, stop, failed in zip(
            edges[:-1], edges[1:], [*[1] * len(failures), 0], strict=True
        ):
            for name, value in zip(rows, (vehicle, begin, stop, failed), strict=True):
                rows[name].append(value)
        who += [vehicle] * len(failures)
        when += failures.tolist()
    answers = r(
        """
        d <- frame("rows")
        s <- survfit(Surv(begin, end, failed) ~ 1, d, id = id)
        k <- s$n.event > 0
        give("clock", s$time[k]); give("mean", s$cumhaz[k]); give("error", s$std.chaz[k])
        """,
        rows=rows,
    )
    curve = mean_cumulative(RecurrentEvents(range(80), entry, end, who, when, "thousand km"))
    assert curve.clock.tolist() == answers["clock"].tolist()
    np.testing.assert_allclose(curve.mean, answers["mean"], rtol=1e-9)
    np.testing.assert_allclose(curve.standard_error, answers["error"], rtol=1e-9)


def test_adjusted_p_values_equal_p_adjust(r: R) -> None:
    p = np.array([0.001, 0.011, 0.011, 0.039, 0.2, 0.041, 0.9, 0.04])
    answers = r(
        """
        p <- frame("p")$p; give("holm", p.adjust(p, "holm")); give("bh", p.adjust(p, "BH"))
        """,
        p={"p": p},
    )
    np.testing.assert_allclose(holm(p).adjusted, answers["holm"], rtol=1e-12)
    np.testing.assert_allclose(benjamini_hochberg(p).adjusted, answers["bh"], rtol=1e-12)

"""Fits of four families of laws against R's survreg, and against lifelines for delayed entry."""

import numpy as np
import pytest
from lifelines import LogLogisticFitter, LogNormalFitter, WeibullFitter

from garage.lifetimes.curves.interval_curve import interval_curve
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.oracle.conftest import R
from tests.oracle.lives import lives_with_everything

pytestmark = pytest.mark.oracle

LIVES = lives_with_everything(600, seed=3)
FAMILIES = {
    "exponential": "exponential",
    "weibull": "weibull",
    "lognormal": "lognormal",
    "log-logistic": "loglogistic",
}


def table() -> RiskTable:
    lives = LivesArrays(np.zeros_like(LIVES.exit), LIVES.exit, LIVES.failed)
    return RiskTable.from_lives(lives, unit="thousand km")


def looked_at() -> tuple[np.ndarray, np.ndarray]:
    """The same lives looked at every 40 and at the end: intervals, and the unfailed."""
    left = np.where(LIVES.failed, (LIVES.exit - 1) // 40 * 40, LIVES.exit).astype(float)
    right = np.where(LIVES.failed, left + 40, np.inf)
    return left, right


@pytest.mark.parametrize("family", FAMILIES)
def test_right_censored_fit_equals_survreg(r: R, family) -> None:
    answers = r(
        f"""
        d <- frame("lives"); s <- survreg(Surv(exit, failed) ~ 1, d, dist = "{FAMILIES[family]}")
        give("scale", exp(coef(s))); give("sigma", s$scale); give("height", s$loglik[2])
        give("errors", sqrt(diag(vcov(s))))
        give("tenth", predict(s, type = "quantile", p = 0.1)[1])
        """,
        lives=LIVES.frame(),
    )
    fit = law_fit(table(), family=family)
    assert fit.scale.value == pytest.approx(answers["scale"][0], rel=1e-5)
    assert fit.log_likelihood == pytest.approx(answers["height"][0], rel=1e-8)
    assert fit.quantile(0.1).value == pytest.approx(answers["tenth"][0], rel=1e-5)
    errors = np.sqrt(np.diag(fit.covariance))
    np.testing.assert_allclose(errors[: answers["errors"].size], answers["errors"], rtol=1e-4)
    if family != "exponential":
        assert fit.sigma.value == pytest.approx(answers["sigma"][0], rel=1e-5)


@pytest.mark.parametrize("family", FAMILIES)
def test_interval_fit_equals_survreg(r: R, family) -> None:
    left, right = looked_at()
    # survreg takes a failure from 0 on as failed before `right`, and NA as no end.
    answers = r(
        f"""
        d <- frame("looks"); d$left[d$left == 0] <- NA; d$right[!is.finite(d$right)] <- NA
        s <- survreg(Surv(left, right, type = "interval2") ~ 1, d, dist = "{FAMILIES[family]}")
        give("scale", exp(coef(s))); give("sigma", s$scale); give("height", s$loglik[2])
        """,
        looks={"left": left, "right": right},
    )
    fit = law_fit(IntervalLives(left, right), family=family)
    assert fit.scale.value == pytest.approx(answers["scale"][0], rel=1e-5)
    assert fit.log_likelihood == pytest.approx(answers["height"][0], rel=1e-8)
    if family != "exponential":
        assert fit.sigma.value == pytest.approx(answers["sigma"][0], rel=1e-5)


@pytest.mark.parametrize(
    ("family", "fitter"),
    [
        ("weibull", WeibullFitter),
        ("lognormal", LogNormalFitter),
        ("log-logistic", LogLogisticFitter),
    ],
)
def test_fit_with_delayed_entry_equals_lifelines(family, fitter) -> None:
    lives = LivesArrays(LIVES.entry, LIVES.exit, LIVES.failed)
    fit = law_fit(RiskTable.from_lives(lives, unit="thousand km"), family=family)
    other = fitter().fit(LIVES.exit, LIVES.failed, entry=LIVES.entry)
    assert fit.log_likelihood == pytest.approx(other.log_likelihood_, abs=1e-4)
    assert fit.median.value == pytest.approx(other.median_survival_time_, rel=1e-3)


def test_interval_curve_equals_survfit(r: R) -> None:
    left, right = looked_at()
    answers = r(
        """
        d <- frame("looks"); d$left[d$left == 0] <- NA; d$right[!is.finite(d$right)] <- NA
        s <- survfit(Surv(left, right, type = "interval2") ~ 1, d)
        give("survival", summary(s, times = seq(40, 240, 40), extend = TRUE)$surv)
        """,
        looks={"left": left, "right": right},
    )
    curve = interval_curve(IntervalLives(left, right), unit="thousand km")
    ours = [curve.at(clock) for clock in range(40, 241, 40)]
    # survfit stops its steps of EM early; the most likely curve is ours, by its own measure.
    np.testing.assert_allclose(
        [(each.least + each.greatest) / 2 if each.value is None else each.value for each in ours],
        answers["survival"],
        atol=2e-3,
    )

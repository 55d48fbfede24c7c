"""Fitted laws against R's survreg, with unfinished and interval lives made in the same run."""

import numpy as np
import pytest

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from tests.oracle.conftest import R

pytestmark = pytest.mark.oracle

R_NAMES: dict[FamilyName, str] = {
    "exponential": "exponential",
    "weibull": "weibull",
    "lognormal": "lognormal",
    "log-logistic": "loglogistic",
}


def looked_at(count: int, seed: int) -> IntervalLives:
    """Two in five failures found at the next look, some at the first; the rest exact or none."""
    rng = np.random.default_rng(seed)
    life = np.round(150 * rng.weibull(1.8, count), 2) + 0.01
    end, step = np.round(rng.uniform(20, 300, count), 2), rng.integers(10, 60, count)
    failed, looked = life <= end, rng.uniform(size=count) < 0.4
    look = np.floor(life / step) * step
    left = np.where(failed, np.where(looked, look, life), end)
    right = np.where(failed, np.where(looked, look + step, life), np.inf)
    return IntervalLives(left, right, weight=rng.integers(1, 4, count))


@pytest.mark.parametrize("family", list(R_NAMES))
def test_fit_of_interval_lives_equals_r(r: R, family: FamilyName) -> None:
    lives = looked_at(300, seed=31)
    answers = r(
        f"""
        d <- frame("lives")
        f <- survreg(Surv(left, right, type = "interval2") ~ 1, d, weights = weight,
                     dist = "{R_NAMES[family]}")
        give("mu sigma", c(coef(f), f$scale)); give("height", f$loglik[2])
        give("error", sqrt(diag(vcov(f))))
        q <- predict(f, data.frame(x = 1), type = "quantile", p = c(0.1, 0.5), se.fit = TRUE)
        give("quantile", q$fit); give("quantile error", q$se.fit)
        """,
        lives={
            "left": ["NA" if each <= 0 else each for each in lives.left],
            "right": ["NA" if np.isinf(each) else each for each in lives.right],
            "weight": lives.weight,
        },
    )
    fit = law_fit(lives, family=family)
    assert fit.scale is not None
    assert fit.covariance is not None
    sigma = 1.0 if fit.sigma is None else fit.sigma.value
    known = {"rtol": 1e-6}
    np.testing.assert_allclose([np.log(fit.scale.value), sigma], answers["mu sigma"], **known)
    np.testing.assert_allclose(fit.log_likelihood, answers["height"][0], **known)
    errors = np.sqrt(np.diag(fit.covariance))[: len(answers["error"])]
    np.testing.assert_allclose(errors, answers["error"], rtol=1e-4)
    for place, share in enumerate((0.1, 0.5)):
        found = fit.quantile(share)
        assert found is not None
        np.testing.assert_allclose(found.value, answers["quantile"][place], **known)
        np.testing.assert_allclose(
            found.standard_error, answers["quantile error"][place], rtol=1e-4
        )

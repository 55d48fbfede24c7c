"""Survival, hazard and incidence against R's survival package and lifelines, in the same run."""

import numpy as np
import pytest
from lifelines import KaplanMeierFitter, NelsonAalenFitter

from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.nelson_aalen import nelson_aalen
from garage.lifetimes.curves.product_limit import LimitsKind, product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.oracle.conftest import R
from tests.oracle.lives import MadeLives, lives_with_everything

pytestmark = pytest.mark.oracle

LIVES = lives_with_everything(800, seed=20)


def table_of(lives: MadeLives) -> RiskTable:
    arrays = LivesArrays(lives.entry, lives.exit, lives.cause)
    return RiskTable.from_lives(arrays, unit="thousand km", causes=("wear", "other"))


@pytest.mark.parametrize("limits", ["log-log", "log", "plain"])
def test_survival_and_quantiles_equal_r(r: R, limits: LimitsKind) -> None:
    answers = r(
        f"""
        d <- frame("lives")
        s <- survfit(Surv(entry, exit, failed) ~ 1, d, conf.type = "{limits}")
        k <- s$n.event > 0
        give("clock", s$time[k]); give("survival", s$surv[k])
        give("error", s$std.err[k] * s$surv[k])
        give("lower", s$lower[k]); give("upper", s$upper[k]); give("at risk", s$n.risk[k])
        q <- quantile(s, c(0.1, 0.25, 0.5, 0.75))
        give("quantile", q$quantile); give("q lower", q$lower); give("q upper", q$upper)
        m <- summary(s, rmean = 200)$table
        give("mean", m[c("rmean", "se(rmean)")])
        """,
        lives=LIVES.frame(),
    )
    curve = product_limit(table_of(LIVES), limits=limits)
    assert curve.clock.tolist() == answers["clock"].tolist()
    assert curve.at_risk.tolist() == answers["at risk"].tolist()
    inside = (curve.survival > 0) & (curve.survival < 1)
    for name, ours in (
        ("survival", curve.survival),
        ("error", curve.standard_error),
        ("lower", curve.lower),
        ("upper", curve.upper),
    ):
        np.testing.assert_allclose(ours[inside], answers[name][inside], rtol=1e-9, err_msg=name)
    for place, share in enumerate((0.1, 0.25, 0.5, 0.75)):
        quantile = curve.quantile(share)
        assert quantile.value == answers["quantile"][place]
        assert quantile.lower == answers["q lower"][place]
        assert quantile.upper == answers["q upper"][place]
    mean = curve.restricted_mean(200)
    np.testing.assert_allclose([mean.value, mean.standard_error], answers["mean"], rtol=1e-9)


@pytest.mark.parametrize("given", [60, 120])
def test_survival_given_survival_equals_r(r: R, given: int) -> None:
    answers = r(
        f"""
        d <- frame("lives")
        s <- survfit(Surv(entry, exit, failed) ~ 1, d, start.time = {given} + 1,
                     conf.type = "log-log")
        k <- s$n.event > 0
        give("clock", s$time[k]); give("survival", s$surv[k]); give("lower", s$lower[k])
        """,
        lives=LIVES.frame(),
    )
    curve = product_limit(table_of(LIVES), given_survival_to=given)
    inside = curve.survival > 0
    assert curve.clock.tolist() == answers["clock"].tolist()
    np.testing.assert_allclose(curve.survival[inside], answers["survival"][inside], rtol=1e-9)
    np.testing.assert_allclose(curve.lower[inside], answers["lower"][inside], rtol=1e-9)


@pytest.mark.parametrize(("ties", "ctype"), [("nelson-aalen", 1), ("fleming-harrington", 2)])
def test_cumulative_hazard_equals_r(r: R, ties: str, ctype: int) -> None:
    answers = r(
        f"""
        d <- frame("lives"); s <- survfit(Surv(entry, exit, failed) ~ 1, d, ctype = {ctype})
        k <- s$n.event > 0
        give("hazard", s$cumhaz[k]); give("error", s$std.chaz[k])
        """,
        lives=LIVES.frame(),
    )
    curve = nelson_aalen(table_of(LIVES), ties=ties)  # type: ignore[arg-type]
    np.testing.assert_allclose(curve.hazard, answers["hazard"], rtol=1e-9)
    np.testing.assert_allclose(np.sqrt(curve.variance), answers["error"], rtol=1e-9)


def test_cumulative_incidence_with_late_entry_equals_r(r: R) -> None:
    answers = r(
        """
        d <- frame("lives"); d$event <- factor(d$cause, 0:2, c("none", "wear", "other"))
        d$row <- seq_len(nrow(d))
        s <- survfit(Surv(entry, exit, event) ~ 1, d, id = row)
        k <- rowSums(s$n.event) > 0
        give("clock", s$time[k]); give("wear", s$pstate[k, 2]); give("other", s$pstate[k, 3])
        """,
        lives=LIVES.frame(),
    )
    curves = cumulative_incidence(table_of(LIVES))
    assert curves.clock.tolist() == answers["clock"].tolist()
    for number, cause in enumerate(curves.causes):
        np.testing.assert_allclose(curves.incidence[number], answers[cause], rtol=1e-9)


def test_survival_and_hazard_equal_lifelines() -> None:
    columns = {"durations": LIVES.exit, "event_observed": LIVES.failed, "entry": LIVES.entry}
    survival = KaplanMeierFitter().fit(**columns).survival_function_.iloc[:, 0]
    hazard = NelsonAalenFitter(nelson_aalen_smoothing=False).fit(**columns)
    curve, ours = product_limit(table_of(LIVES)), nelson_aalen(table_of(LIVES))
    np.testing.assert_allclose(curve.survival, survival.loc[curve.clock], rtol=1e-9)
    np.testing.assert_allclose(
        ours.hazard, hazard.cumulative_hazard_.iloc[:, 0].loc[ours.clock], rtol=1e-9
    )

"""The exact form of ties against R, every choice counted one by one, and the log-rank test."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.comparison.exact_ties import MOST_SUMS, ExactLikelihood
from garage.lifetimes.comparison.hazard_lives import FailureGrid, HazardLives
from garage.lifetimes.comparison.log_rank import log_rank_of_lives, stratified_log_rank
from garage.lifetimes.comparison.predicted_hazard import predicted_hazard
from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
from garage.lifetimes.comparison.proportionality import proportionality
from garage.lifetimes.risk_table import LivesArrays
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import (
    STRATUM,
    VEHICLE,
    WEIGHT,
    DrawnLife,
    coefficients,
    errors,
    life,
    lives_of,
    moments_of_failure,
    one_column,
    slopes_equal_differences,
    small_lives,
)
from tests.lifetimes.conftest import CheckCase, table_of

# Against R 4.2.2, survival 3.5-3, on the lives of small_lives.py. It hands out a bare list for
# late entry, with coefficients, var, loglik, score and wald.test.


def test_late_entry_and_ties_equal_r() -> None:
    # coxph(Y ~ cleaned + load, ties = "exact")
    fit = proportional_hazards(small_lives(), ties="exact")
    np.testing.assert_allclose(coefficients(fit), [2.07977935335407, 0.64107646460999], rtol=1e-10)
    np.testing.assert_allclose(errors(fit), [0.717627168845198, 0.329646517697362], rtol=1e-10)
    assert fit.covariance is not None
    assert fit.covariance[0, 1] == pytest.approx(0.042351244596135, rel=1e-9)
    assert fit.log_likelihood_null == pytest.approx(-36.0431018983472, rel=1e-12)
    assert fit.log_likelihood == pytest.approx(-29.8186489921841, rel=1e-12)
    assert fit.score_test.statistic == pytest.approx(12.4411223118438, rel=1e-10)
    assert fit.wald_test.statistic == pytest.approx(10.4996757400562, rel=1e-9)
    assert (fit.n, fit.failed, fit.ties) == (24, 16, "exact")


def test_lives_watched_from_new_equal_r() -> None:
    # coxph(Surv(exit, failed) ~ cleaned + load, ties = "exact")
    fit = proportional_hazards(replace(small_lives(), entry=np.zeros(24)), ties="exact")
    np.testing.assert_allclose(coefficients(fit), [2.19018966620855, 0.67154416684983], rtol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.705462686292487, 0.329957623865622], rtol=1e-9)
    assert fit.log_likelihood == pytest.approx(-30.1608880904308, rel=1e-12)
    assert fit.score_test.statistic == pytest.approx(14.7881810598665, rel=1e-10)


def test_strata_equal_r() -> None:
    # Y <- Surv(entry, ceiling(exit / 2) * 2, failed), which ties within strata as well;
    # coxph(Y ~ cleaned + load + strata(s), ties = "exact")
    lives = small_lives(stratum=STRATUM)
    fit = proportional_hazards(
        replace(lives, exit=np.ceil(np.asarray(lives.exit) / 2) * 2), ties="exact"
    )
    np.testing.assert_allclose(coefficients(fit), [2.62985262840326, 0.812229774018476], rtol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.890518000166231, 0.39500647690498], rtol=1e-9)
    assert fit.log_likelihood_null == pytest.approx(-26.6377287276935, rel=1e-12)
    assert fit.log_likelihood == pytest.approx(-19.1357945058299, rel=1e-12)
    assert fit.score_test.statistic == pytest.approx(15.0753939630743, rel=1e-10)


def test_six_subjects_run_off(check_case) -> None:
    # Of the two failures at 6 one is of each kind, and both others favour x: no maximum. R warns
    # "beta may be infinite"; its score test is 2.
    case: CheckCase = check_case("COX-01")
    lives = one_column(case.data["time"], case.data["event"], case.data["x"])
    fit = proportional_hazards(lives, ties="exact")
    assert (fit.status, fit.ratios[0].value) == (Status.RUNS_OFF, None)
    assert fit.score_test.statistic == pytest.approx(2.0, rel=1e-12)
    assert fit.log_likelihood_null == pytest.approx(-3.58351893845611, rel=1e-12)


# Against second ways


def counted_likelihood(lives: HazardLives, slope: np.ndarray) -> float:
    """The log likelihood with every choice of those at risk added up by itself."""
    value = 0.0
    for at_risk, now in moments_of_failure(lives, slope):
        choices = combinations(at_risk, len(now))
        value += now.sum() - np.log(sum(np.exp(sum(each)) for each in choices))
    return value


@settings(max_examples=60)
@given(
    st.lists(life, min_size=4, max_size=14),
    st.tuples(st.floats(-1.5, 1.5), st.floats(-1.5, 1.5)),
)
def test_likelihood_and_slopes_equal_a_count_of_all_choices(
    drawn: list[DrawnLife], slope: tuple[float, float]
) -> None:
    lives = lives_of(drawn)
    grid = FailureGrid.of(lives)
    if not len(grid.failed):
        return
    likelihood = ExactLikelihood.of(grid)
    point = likelihood.at(np.array(slope) * grid.scale)
    assert point is not None
    assert point.value == pytest.approx(counted_likelihood(lives, np.array(slope)), abs=1e-10)
    slopes_equal_differences(point)


def slow_log_sum(log_hazard: np.ndarray, chosen: int) -> float:
    """Log of the sum over all choices, by the recursion in logarithms throughout."""
    sums = np.full(chosen + 1, -np.inf)
    sums[0] = 0.0
    for each in log_hazard:
        sums[1:] = np.logaddexp(sums[1:], sums[:-1] + each)
    return float(sums[-1])


@pytest.mark.parametrize(
    ("n", "failed", "slope"),
    # The sums are exp(1 382), exp(465), exp(1 937) and exp(26 755); float64 ends at exp(709).
    # At slope 160 the hazards of two lives lie up to exp(560) apart.
    [(2_000, 1_000, 0.0), (300, 299, -40.0), (400, 7, 160.0), (400, 200, 160.0)],
)
def test_many_ties_and_far_apart_hazards_neither_overflow_nor_vanish(
    n: int, failed: int, slope: float
) -> None:
    x = np.random.default_rng(5).uniform(-1.75, 1.75, n)
    lives = one_column([1.0] * n, [1] * failed + [0] * (n - failed), x.tolist())
    grid = FailureGrid.of(lives)
    point = ExactLikelihood.of(grid).at(np.array([slope]) * grid.scale)
    assert point is not None
    wanted = slope * x[:failed].sum() - slow_log_sum(slope * x, failed)
    assert point.value == pytest.approx(wanted, rel=1e-11)
    assert np.all(np.isfinite(point.score))
    assert point.information[0, 0] >= 0


def tied_lives(seed: int, n: int = 90) -> tuple[np.ndarray, ...]:
    """Entry, exit, failed, group of three, stratum of two: some eight clock values for all."""
    rng = np.random.default_rng(seed)
    entry = rng.integers(0, 4, n) * rng.integers(0, 2, n)
    exit_ = entry + rng.integers(1, 6, n)
    return entry, exit_, rng.integers(0, 3, n) > 0, rng.integers(0, 3, n), rng.integers(0, 2, n)


@pytest.mark.parametrize("seed", range(3))
def test_score_test_is_the_log_rank_test_with_its_full_variance(seed: int) -> None:
    entry, exit_, failed, group, stratum = tied_lives(seed)
    kinds = np.column_stack([group == 1, group == 2]).astype(float)
    lives = HazardLives(entry, exit_, failed, kinds, ("second", "third"))
    plain = proportional_hazards(lives, ties="exact").score_test
    found = log_rank_of_lives(LivesArrays(entry, exit_, failed.astype(int)), group)
    assert plain.statistic == pytest.approx(found.statistic, rel=1e-11)
    tables = [
        [
            table_of(
                *(each[(stratum == half) & (group == kind)] for each in (exit_, failed, entry))
            )
            for kind in range(3)
        ]
        for half in range(2)
    ]
    both = proportional_hazards(replace(lives, stratum=stratum), ties="exact").score_test
    assert both.statistic == pytest.approx(stratified_log_rank(tables).statistic, rel=1e-11)


def test_all_forms_agree_without_ties() -> None:
    lives = replace(small_lives(), exit=np.asarray(small_lives().exit) + np.arange(24) / 100)
    exact, efron = (proportional_hazards(lives, ties=each) for each in ("exact", "efron"))
    np.testing.assert_allclose(coefficients(exact), coefficients(efron), rtol=1e-12)
    np.testing.assert_allclose(errors(exact), errors(efron), rtol=1e-12)
    assert exact.log_likelihood == pytest.approx(efron.log_likelihood, rel=1e-12)


def test_a_clock_value_at_which_all_at_risk_fail_says_nothing() -> None:
    entry, exit_, failed, group, _ = tied_lives(4)
    lives = HazardLives(entry, exit_, failed, group[:, None], ("group",))
    later = HazardLives(
        [*entry, 20, 20, 20], [*exit_, 30, 30, 30], [*failed, 1, 1, 1],
        [*group[:, None], [5], [-2], [1]], ("group",),
    )  # fmt: skip
    once, again = (proportional_hazards(each, ties="exact") for each in (lives, later))
    assert coefficients(again) == pytest.approx(coefficients(once), rel=1e-12)
    assert again.log_likelihood == pytest.approx(once.log_likelihood, rel=1e-12)


def test_odds_ratio_on_a_discrete_clock_is_found_where_other_forms_miss_it() -> None:
    # 4 000 lives looked at after each of six winters; the second kind fails with thrice the odds.
    rng = np.random.default_rng(11)
    kind = np.arange(4_000) % 2
    odds = np.array([0.3, 0.3, 0.5, 0.5, 0.4, 0.3]) * np.where(kind == 1, 3.0, 1.0)[:, None]
    fails = rng.random(odds.shape) < odds / (1 + odds)
    lives = one_column(
        np.where(fails.any(axis=1), fails.argmax(axis=1) + 1, 6).tolist(),
        fails.any(axis=1).astype(int).tolist(),
        kind.astype(float).tolist(),
    )
    off = {}
    for ties in ("exact", "efron", "breslow"):
        fit = proportional_hazards(lives, ties=ties)
        off[ties] = abs(coefficients(fit)[0] - np.log(3)) / errors(fit)[0]
    assert off["exact"] < 2
    assert min(off["efron"], off["breslow"]) > 5


def test_proportionality_is_the_score_test_of_a_column_that_moves() -> None:
    # Each life is cut at every failure, and its covariate times the clock is a column of its own.
    lives = small_lives()
    entry, exit_, failed = (np.asarray(v) for v in (lives.entry, lives.exit, lives.failed))
    fit = proportional_hazards(lives, ties="exact")
    rows = []
    for clock in np.unique(exit_[failed == 1]):
        for each in np.flatnonzero((entry < clock) & (clock <= exit_)):
            x, load = np.asarray(lives.covariates)[each]
            fails = failed[each] == 1 and exit_[each] == clock
            rows.append((clock - 1, clock, fails, x, load, x * clock))
    begin, end, now, *columns = np.array(rows, float).T
    cut = HazardLives(begin, end, now, np.column_stack(columns), ("cleaned", "load", "moving"))
    grid = FailureGrid.of(cut)
    point = ExactLikelihood.of(grid).at(np.array([*coefficients(fit), 0.0]) * grid.scale)
    assert point is not None
    wanted = float(point.score @ np.linalg.solve(point.information, point.score))
    found = proportionality(fit, against="identity")
    assert found.of("cleaned").statistic == pytest.approx(wanted, rel=1e-8)


# What is refused


def test_a_prediction_from_exact_ties_is_refused() -> None:
    with pytest.raises(ValueError, match="says nothing of the baseline"):
        predicted_hazard(proportional_hazards(small_lives(), ties="exact"), [1, 0])


def test_weights_and_clusters_are_refused() -> None:
    # As R does: "Case weights are not supported", "dfbeta residuals are not available".
    with pytest.raises(ValueError, match=r"one life, of weight 1.*got 2.0 at index 1"):
        proportional_hazards(small_lives(weight=WEIGHT), ties="exact")
    with pytest.raises(ValueError, match="exact ties come without clusters"):
        proportional_hazards(small_lives(cluster=VEHICLE), ties="exact")
    ones = proportional_hazards(small_lives(weight=[1] * 24), ties="exact")
    assert coefficients(ones) == coefficients(proportional_hazards(small_lives(), ties="exact"))


def test_hopelessly_many_ties_are_refused_with_the_count() -> None:
    # 20 000 at risk times 10 000 failures times 3 moments.
    n = 20_000
    assert n * (n / 2) * 3 > MOST_SUMS
    lives = one_column([1.0] * n, [1, 0] * (n // 2), [0.0, 1.0, 1.0, 0.0] * (n // 4))
    with pytest.raises(ValueError, match=r"3 moments, at most 3e\+08; got 6e\+08"):
        proportional_hazards(lives, ties="exact")

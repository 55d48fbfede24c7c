"""The test of proportionality against R, numeric second derivatives, and simulated lives."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.comparison.hazard_lives import HazardLives
from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
from garage.lifetimes.comparison.proportionality import ClockKind, Proportionality, proportionality
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import STRATUM, small_lives


def statistics(found: Proportionality) -> list[float]:
    return [float(each.statistic or 0.0) for each in (*found.covariates, found.together)]


# R 4.2.2, survival 3.5-3: cox.zph(coxph(Y ~ cleaned + load), transform = ...)$table[, "chisq"],
# "survival" being "km"; and for "rank" transform = the mean rank among the failures alone.
R_PLAIN: dict[ClockKind, list[float]] = {
    "rank": [0.0976578809008668, 0.0259192606666154, 0.1171268774050672],
    "survival": [0.145741535524, 0.0112081871847, 0.152295467922],
    "identity": [0.129785087423, 0.00272192289579, 0.130499488574],
    "log": [0.215655195319, 0.0345803053653, 0.238644132836],
}
R_STRATA: dict[ClockKind, list[float]] = {
    "rank": [0.156675336875655, 0.517565175146685, 0.781479332152116],
    "survival": [0.101619274723, 0.379942492618, 0.552397726706],
    "identity": [0.128645752071, 0.464338060769, 0.684956492151],
}


@pytest.mark.parametrize("against", R_PLAIN)
def test_statistics_with_late_entry_and_ties_equal_r(against: ClockKind) -> None:
    found = proportionality(proportional_hazards(small_lives()), against=against)
    np.testing.assert_allclose(statistics(found), R_PLAIN[against], atol=1e-9)
    assert [each.degrees_of_freedom for each in (*found.covariates, found.together)] == [1, 1, 2]
    assert (found.of("load").n, found.of("load").failed) == (24, 16)


@pytest.mark.parametrize("against", R_STRATA)
def test_statistics_with_strata_equal_r(against: ClockKind) -> None:
    fit = proportional_hazards(small_lives(stratum=STRATUM))
    found = proportionality(fit, against=against)
    np.testing.assert_allclose(statistics(found), R_STRATA[against], atol=1e-8)


def test_statistic_is_the_score_test_of_a_column_that_moves() -> None:
    # A second way: each life is cut at every failure, and its covariate times the clock is a
    # column of its own; the score of that column, where the others are at the estimate.
    lives = small_lives()
    entry, exit_, failed = (np.asarray(v) for v in (lives.entry, lives.exit, lives.failed))
    columns = np.asarray(lives.covariates)
    slope = np.array([each.coefficient for each in proportional_hazards(lives).ratios], float)
    steps, information = np.zeros(3), np.zeros((3, 3))
    for clock in np.unique(exit_[failed == 1]):
        at_risk = (entry < clock) & (clock <= exit_)
        now = at_risk & (failed == 1) & (exit_ == clock)
        moved = np.column_stack([columns, columns[:, 0] * clock])
        for gone in range(now.sum()):
            weight = np.exp(columns @ slope) * (at_risk - now * gone / now.sum())
            mean = weight @ moved / weight.sum()
            second = (moved.T * weight) @ moved / weight.sum()
            steps += moved[now].mean(axis=0) - mean
            information += second - np.outer(mean, mean)
    spread = np.linalg.inv(information)
    found = proportionality(proportional_hazards(lives), against="identity")
    assert found.of("cleaned").statistic == pytest.approx(steps @ spread @ steps, abs=1e-9)


def worn_lives(seed: int, shape: float) -> HazardLives:
    """Two kinds of invented lives; the second's Weibull shape makes hazards cross, or not."""
    rng = np.random.default_rng(seed)
    kind = np.arange(400) % 2
    life = 100 * rng.exponential(size=400) ** (1 / np.where(kind == 1, shape, 1.5))
    end = rng.uniform(50, 250, 400)
    return HazardLives(
        np.zeros(400), np.ceil(np.minimum(life, end)), life <= end, kind[:, None], ("kind",)
    )


@pytest.mark.parametrize("against", ["rank", "survival", "identity", "log"])
def test_crossing_hazards_are_found_and_the_direction_said(against: ClockKind) -> None:
    found = proportionality(proportional_hazards(worn_lives(1, 4.0)), against=against)
    kind = found.of("kind")
    assert kind.p_value is not None
    assert kind.p_value < 1e-6
    # The second kind fails late: its ratio rises along the clock.
    assert kind.slope is not None
    assert kind.slope > 0


@pytest.mark.slow
def test_proportional_lives_are_told_off_as_rarely_as_promised() -> None:
    """400 lives in proportion; found 0.040 of 1 000 times at 0.05."""
    wrong = 0
    for seed in range(1_000):
        found = proportionality(proportional_hazards(worn_lives(seed, 1.5)))
        assert found.together.p_value is not None
        wrong += found.together.p_value < 0.05
    # Three binomial standard errors are 0.021.
    assert abs(wrong / 1_000 - 0.05) < 0.021


def test_fit_without_figures_hands_on_its_reason() -> None:
    lives = small_lives()
    fit = proportional_hazards(replace(lives, failed=[0] * 24))
    found = proportionality(fit)
    for each in (*found.covariates, found.together):
        assert (each.statistic, each.p_value, each.slope) == (None, None, None)
        assert (each.status, each.reason) == (Status.NO_FAILURES, fit.reason)


def test_failures_at_one_clock_value_cannot_show_a_change() -> None:
    lives = HazardLives(
        [0] * 6, [5, 5, 5, 7, 8, 9], [1, 1, 1, 0, 0, 0], [[0], [1], [0], [1], [1], [0]], ("x",)
    )
    found = proportionality(proportional_hazards(lives))
    assert (found.together.statistic, found.together.status) == (None, Status.ONE_DISTANCE)


def test_a_covariate_that_differs_at_one_failure_only_cannot_show_a_change() -> None:
    # After the first failure only lives alike in `x` are at risk.
    lives = HazardLives(
        [0, 0, 0, 0, 2, 2, 2],
        [1, 2, 1, 2, 7, 8, 9],
        [1, 0, 0, 1, 1, 1, 0],
        [[0.0], [1.0], [1.0], [0.0], [1.0], [1.0], [1.0]],
        ("x",),
    )
    fit = proportional_hazards(
        replace(lives, failed=[1, 0, 0, 0, 1, 1, 0], exit=[1, 1, 1, 1, 7, 8, 9])
    )
    assert fit.ratio_of("x").status is Status.RUNS_OFF
    mixed = replace(lives, failed=[1, 0, 1, 0, 1, 1, 0], exit=[1, 1, 1, 1, 7, 8, 9])
    found = proportionality(proportional_hazards(mixed))
    assert (found.of("x").statistic, found.of("x").status) == (None, Status.CANNOT_TELL_APART)
    assert "one failure only" in found.of("x").reason


def test_refuses_unknown_clocks_names_and_a_logarithm_of_nought() -> None:
    fit = proportional_hazards(small_lives())
    with pytest.raises(ValueError, match="rank, survival, identity, log"):
        proportionality(fit, against="km")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="'dust'"):
        proportionality(fit).of("dust")
    early = HazardLives([-1, -1, -1], [0, 2, 3], [1, 1, 0], [[0], [1], [0]], ("x",))
    with pytest.raises(ValueError, match="got a failure at 0"):
        proportionality(proportional_hazards(early), against="log")

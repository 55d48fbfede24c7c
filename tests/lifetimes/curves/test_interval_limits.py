"""Likelihood-ratio limits against closed forms, a general solver and their own promise."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from garage.lifetimes.confidence import none_failed_lower
from garage.lifetimes.curves.interval_curve import interval_curve
from garage.lifetimes.curves.interval_fit import fitted
from garage.lifetimes.curves.interval_limits import SurvivalLimits
from garage.lifetimes.curves.interval_search import most_likely
from garage.lifetimes.curves.interval_sets import candidate_sets
from garage.lifetimes.interval_lives import IntervalLives
from tests.lifetimes.curves.interval_atoms import Atoms, interval_lives

CHI_SQUARE_95 = 3.841458820694124

# Remission weeks on 6-mercaptopurine, Freireich et al., Blood 21, 1963, 699-716.
WEEKS = np.array([6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35])
RELAPSED = np.array([1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0], bool)
REMISSIONS = IntervalLives(WEEKS, np.where(RELAPSED, WEEKS, np.inf))


def limits_of(lives: IntervalLives, level: float = 0.95) -> SurvivalLimits:
    lives = lives.distinct()
    best = most_likely(candidate_sets(lives)).log_likelihood
    return SurvivalLimits(lives, False, best, level)


def thomas_grunkemeier(clock: float) -> tuple[float, float]:
    """The limits for exact failures in their closed form, one equation for each."""
    times = np.unique(WEEKS[RELAPSED & (clock >= WEEKS)])
    at_risk = np.array([(each <= WEEKS).sum() for each in times])
    died = np.array([((each == WEEKS) & RELAPSED).sum() for each in times])

    def shares(pull: float) -> np.ndarray:
        return died / (at_risk + pull)

    def height(share: np.ndarray) -> float:
        return float(died @ np.log(share) + (at_risk - died) @ np.log1p(-share))

    def excess(pull: float) -> float:
        return 2 * (height(shares(0)) - height(shares(pull))) - CHI_SQUARE_95

    down = brentq(excess, -(at_risk - died).min() + 1e-9, 0, xtol=1e-13)
    up = brentq(excess, 0, 1e4, xtol=1e-13)
    return float(np.prod(1 - shares(down))), float(np.prod(1 - shares(up)))


@pytest.mark.parametrize("week", [6, 8, 10, 22, 30])
def test_limits_of_exact_failures_equal_their_closed_form(week: int) -> None:
    limits = limits_of(REMISSIONS)
    lower, upper = thomas_grunkemeier(week)
    assert limits.lower(0, week) == pytest.approx(lower, abs=1e-6)
    assert limits.upper(0, week) == pytest.approx(upper, abs=1e-6)


def test_one_share_equals_the_binomial_likelihood() -> None:
    # 7 of 20 failed by 10: only two outcomes are told apart.
    lives = IntervalLives([0, 10], [10, np.inf], weight=[7, 13])

    def excess(share: float) -> float:
        best = 7 * np.log(0.35) + 13 * np.log(0.65)
        return float(2 * (best - 7 * np.log(1 - share) - 13 * np.log(share)) - CHI_SQUARE_95)

    limits = limits_of(lives)
    assert limits.lower(0, 10) == pytest.approx(brentq(excess, 0.01, 0.65), abs=1e-7)
    assert limits.upper(0, 10) == pytest.approx(brentq(excess, 0.65, 0.99), abs=1e-7)


def test_none_failed_gives_the_exact_lower_limit() -> None:
    limits = limits_of(IntervalLives([10, 12], [np.inf, 15], weight=[15, 5]))
    assert limits.lower(0, 8) == pytest.approx(none_failed_lower(20, 0.95), abs=1e-12)
    assert limits.upper(0, 8) == 1


def test_all_failed_gives_a_lower_limit_of_0() -> None:
    limits = limits_of(IntervalLives([2, 3], [5, 6]))
    assert limits.lower(0, 7) == 0
    # Two lives outlast 7 with a chance of s squared... both failed by 6: (1 - s)^2.
    assert limits.upper(0, 7) == pytest.approx(1 - np.exp(-CHI_SQUARE_95 / 4), abs=1e-7)


LEAP = IntervalLives([0, 2, 1, 2, 3], [1, 4, 3, np.inf, 6], weight=[1, 1, 1, 4, 1])
"""After random trials: before 2 and between 2 and 3 a fall is worth the same at a pull of 5,
so that the shortfall leaps there, from 0.92 to 4.4."""


def test_limit_where_the_shortfall_leaps_equals_a_general_solver() -> None:
    limits = limits_of(LEAP)
    general = Atoms.of(LEAP, closed_left=False, mark=2).survival_bound(
        2, limits.best - CHI_SQUARE_95 / 2, -1
    )
    assert limits.lower(0, 2) == pytest.approx(general, abs=1e-6)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:.*:RuntimeWarning")
@settings(max_examples=20)
@given(interval_lives(most=6), st.booleans(), st.sampled_from([1.0, 2.0, 2.5, 4.5]))
def test_limits_equal_a_general_solver(
    lives: IntervalLives, closed_left: bool, clock: float
) -> None:
    lives = IntervalLives(
        lives.left.clip(0), lives.right.clip(1), lives.entry.clip(0), lives.weight
    )
    fit = fitted(lives, level=0.95, closed_left=closed_left, given_survival_to=None)
    assume(not fit.in_thin_part(clock) and clock <= (fit.watched_to or 0))
    lower, upper = fit.limits(clock)
    floor = fit.hazards.log_likelihood - CHI_SQUARE_95 / 2
    atoms = Atoms.of(lives, closed_left=closed_left, mark=clock)
    assert upper == pytest.approx(atoms.survival_bound(clock, floor, 1), abs=2e-3)
    least = atoms.survival_bound(clock, floor, -1)
    assert lower <= least + 2e-3
    if lower < least - 2e-3:
        # Up to some clock value perhaps none failed: the exact limit there is the wider one.
        marks = np.arange(fit.start + 0.25, clock + 0.1, 0.25)
        level = [u for u in marks if fit.survival_range(u)[1] == 1]
        failed_after = lives.exact | (closed_left & ~lives.unfailed)
        outlive = [(lives.left > u) | (~failed_after & (lives.left == u)) for u in level]
        outlive = [each & (lives.entry < u) for each, u in zip(outlive, level, strict=True)]
        sure = [lives.weight[each].sum() for each in outlive]
        exact = [none_failed_lower(count, 0.95) or 0.0 for count in sure]
        assert lower == pytest.approx(min(exact), abs=1e-6)


@settings(max_examples=40)
@given(interval_lives(most=12, late=False), st.booleans())
def test_limits_hold_the_range_and_never_rise(lives: IntervalLives, closed_left: bool) -> None:
    curve = interval_curve(lives, unit="steps", closed_left=closed_left)
    points = [curve.at(clock) for clock in (0.5, 1, 2, 3.5, 4, 6, 8)]
    held = [each for each in points if each.lower is not None]
    for each in held:
        assert each.least is not None
        assert each.lower <= each.least + 1e-6
        assert each.upper >= each.greatest - 1e-6
    for name in ("lower", "upper"):
        limits = [getattr(each, name) for each in held]
        assert all(b <= a + 1e-6 for a, b in pairwise(limits))


def test_wider_level_gives_wider_limits() -> None:
    narrow, wide = limits_of(REMISSIONS, 0.9), limits_of(REMISSIONS, 0.99)
    assert wide.lower(0, 10) < narrow.lower(0, 10) < narrow.upper(0, 10) < wide.upper(0, 10)


def test_limits_of_the_median_are_where_the_curve_limits_cross_it() -> None:
    curve = interval_curve(REMISSIONS, unit="weeks")
    median = curve.median
    assert (median.value, median.lower, median.upper) == (23, 13, None)
    before, there = curve.at(12.5), curve.at(13)
    assert before.lower is not None
    assert there.lower is not None
    assert before.lower > 0.5 >= there.lower


def looked_at(kind: str, rng: np.random.Generator, count: int) -> IntervalLives:
    """Lives of a Weibull law, found at services, at any one time, or the moment they fail."""
    died = 100 * rng.weibull(2, count)
    if kind == "exact":
        gone = rng.uniform(50, 250, count)
        return IntervalLives(np.minimum(died, gone), np.where(died <= gone, died, np.inf))
    if kind == "once":
        looked = rng.uniform(20, 180, count)
        failed = died <= looked
        return IntervalLives(np.where(failed, 0, looked), np.where(failed, looked, np.inf))
    # Services every 20, begun anywhere, and lost from sight somewhere.
    phase, end = rng.integers(1, 20, count), rng.uniform(60, 250, count)
    left = np.maximum(phase + 20 * np.floor((np.minimum(died, end) - phase) / 20), 0)
    next_look = phase + 20 * np.ceil((died - phase).clip(0) / 20)
    return IntervalLives(left, np.where(next_look <= end, np.maximum(next_look, left), np.inf))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "times", "least", "most"),
    [("exact", 1000, 0.935, 0.965), ("services", 200, 0.93, 1.0), ("once", 150, 0.95, 1.0)],
)
def test_limits_hold_the_truth_as_often_as_they_say(
    kind: str, times: int, least: float, most: float
) -> None:
    """Survival to 80 among 80 lives at a level of 95 %.

    Found: 95.2 % where failures are exact, 98.5 % at services, 99.3 % of lives looked at once;
    two binomial errors are 1.4, 3.1 and 3.6 %. That looks spread over the clock give too much
    is as the theory has it.
    """
    rng = np.random.default_rng(2026)
    truth, held = float(np.exp(-(0.8**2))), 0
    for _ in range(times):
        limits = limits_of(looked_at(kind, rng, 80))
        held += limits.lower(0, 80) <= truth <= limits.upper(0, 80)
    assert least <= held / times <= most

"""What a fit says where lives carry no law, set no limit, or the question makes no sense."""

import numpy as np
import pytest

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.status import Status
from tests.lifetimes.laws.test_law_fit import (
    MIXED,
    as_lives,
    each_family,
    every_family,
    found,
)
from tests.lifetimes.laws.written_out import log_likelihood

NEVER = np.inf


@each_family
@pytest.mark.parametrize(
    ("left", "right", "status"),
    [
        ([], [], Status.NO_LIVES),
        ([10, 20], [NEVER, NEVER], Status.NO_FAILURES),
        ([10, 20], [10, NEVER], Status.FEW_FAILURES),
        ([10, 20], [15, NEVER], Status.FEW_FAILURES),
        ([10, 10, 20], [10, 10, NEVER], Status.ONE_DISTANCE),
        ([10, 12, 5], [20, 25, NEVER], Status.ONE_DISTANCE),
        ([0, 0], [10, 20], Status.ONE_DISTANCE),
        ([0, 0, 10], [10, 10, NEVER], Status.NOT_CONVERGED),
        ([0, 0, 20], [10, 10, NEVER], Status.NOT_CONVERGED),
        ([100_000, 100_001], [100_000, 100_001], Status.NOT_CONVERGED),
    ],
)
def test_lives_without_a_shape_give_a_status_and_a_reason(
    family: FamilyName, left: list[float], right: list[float], status: Status
) -> None:
    fit = law_fit(IntervalLives(left, right), family=family)
    assert fit.status is status
    assert fit.reason
    assert (fit.law, fit.shape, fit.scale, fit.sigma, fit.median) == (None,) * 5
    assert (fit.log_likelihood, fit.aic, fit.covariance, fit.survival_at(5)) == (None,) * 4
    with pytest.raises(ValueError, match="there is no law to draw"):
        fit.band(np.array([5.0]))


@each_family
def test_one_life_more_makes_the_intervals_enough(family: FamilyName) -> None:
    # Differs from a refused case above in one unfailed life beyond the intervals.
    fit = law_fit(IntervalLives([10, 12, 5, 30], [20, 25, NEVER, NEVER]), family=family)
    assert fit.status is Status.OK


def test_weibull_likelihood_that_rises_without_end_is_no_fit() -> None:
    # All entries delayed and most lives long; as interval lives, so the general search.
    lives = as_lives([15, 20, 120, 150, 10_001], [1, 0, 1, 0, 0], [1, 2, 10, 100, 1000])
    fit = law_fit(lives, family="weibull")
    assert (fit.status, fit.law) == (Status.NOT_CONVERGED, None)


def test_limits_that_lives_do_not_set_are_none() -> None:
    lives = as_lives([93, 90, 114, 137], [0, 1, 1, 0], [30, 36, 58, 44])
    fit = law_fit(lives, family="weibull")
    assert (found(fit.shape).lower, found(fit.scale).lower) == (None, None)
    assert found(fit.shape).upper is not None
    assert found(fit.scale).upper is not None
    assert found(fit.sigma).upper is None
    assert found(fit.quantile(0.1)).lower is None


def test_no_failures_bound_the_rate_by_the_rule_of_three() -> None:
    # 3 / watched distance at 95 %: Hanley and Lippman-Hand, JAMA 249, 1983 (from memory).
    lives = IntervalLives([150] * 30, [NEVER] * 30, entry=[50] * 30)
    fit = law_fit(lives, family="exponential")
    assert fit.rate_upper == pytest.approx(3 / 3000, rel=0.002)
    assert fit.scale_lower == pytest.approx(1 / fit.rate_upper)


def test_one_failure_bounds_the_rate_as_printed_tables_do() -> None:
    # 4.744 expected events leave 1 or none in 5 % (Poisson tables, from memory).
    fit = law_fit(as_lives([400, 600], [1, 0]), family="lognormal")
    assert fit.rate_upper == pytest.approx(4.744 / 1000, rel=1e-4)
    assert fit.scale_lower is None


@each_family
def test_no_failures_with_a_known_shape_bound_the_scale(family: FamilyName) -> None:
    lives = IntervalLives([100, 200], [NEVER, NEVER], entry=[0, 20])
    fit = law_fit(lives, family=family, fixed_shape=3.0)
    assert fit.scale_lower is not None
    # With that scale the chance that none fails is 1 - level, by the definition.
    chance = np.exp(log_likelihood(family, lives, np.log(fit.scale_lower), 1 / 3))
    assert chance == pytest.approx(0.05)
    assert fit.law is None


def test_late_lives_may_leave_a_falling_hazard_unbounded() -> None:
    # A log-logistic hazard is at most shape / clock, so any scale leaves these lives a chance
    # above 5 %; from the start of the clock it would not.
    late = IntervalLives([10, 20], [NEVER, NEVER], entry=[5, 15])
    early = IntervalLives([10, 20], [NEVER, NEVER])
    assert law_fit(late, family="log-logistic", fixed_shape=2.0).scale_lower is None
    assert law_fit(early, family="log-logistic", fixed_shape=2.0).scale_lower is not None


@every_family
def test_lives_all_failed_by_their_first_look_do_not_bound_the_scale(family: FamilyName) -> None:
    shape = None if family == "exponential" else 2.0
    fit = law_fit(IntervalLives([0, 0], [10, 20]), family=family, fixed_shape=shape)
    assert (fit.status, fit.law) == (Status.NOT_CONVERGED, None)
    bounded = law_fit(IntervalLives([0, 5], [10, 20]), family=family, fixed_shape=shape)
    assert bounded.status is Status.OK


def test_failure_at_clock_zero_counts_within_the_first_unit() -> None:
    lives = IntervalLives([0, 5, 9], [0, 5, NEVER], entry=[-1, -1, -1])
    halves = IntervalLives([0.5, 5, 9], [0.5, 5, NEVER])
    assert law_fit(lives, family="lognormal").law == law_fit(halves, family="lognormal").law


def test_question_that_makes_no_sense_is_refused() -> None:
    assert law_fit(MIXED, family="weibull", fixed_shape=2.0).status is Status.OK
    with pytest.raises(ValueError, match="a fixed shape is a finite number above 0; got 0"):
        law_fit(MIXED, family="weibull", fixed_shape=0.0)
    with pytest.raises(ValueError, match="an exponential law has the shape 1; got 2"):
        law_fit(MIXED, family="exponential", fixed_shape=2.0)
    with pytest.raises(ValueError, match="a family is one of exponential, weibull"):
        law_fit(MIXED, family="gamma")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="a level lies between 0 and 1"):
        law_fit(MIXED, family="weibull", level=95)
    with pytest.raises(ValueError, match="a share lies between 0 and 1"):
        law_fit(MIXED, family="weibull").quantile(1.0)
    with pytest.raises(ValueError, match="a finite clock value"):
        law_fit(MIXED, family="weibull").survival_at(np.inf)

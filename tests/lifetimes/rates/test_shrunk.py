"""Shrunk rates: a published table of claims, a published moment iteration, known truths."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import nbinom

from garage.lifetimes.rates.poisson import poisson_rate
from garage.lifetimes.rates.shrunk import (
    GammaPrior,
    gamma_prior,
    moment_gamma_prior,
    shrunk_rates,
)
from garage.lifetimes.status import Status

# Efron and Hastie, Computer Age Statistical Inference, 2016, table 6.1: policies by claims a year.
POLICIES = (7840, 1317, 239, 42, 14, 4, 4, 1)
CLAIMS = np.repeat(np.arange(8), POLICIES)


def test_claims_equal_the_published_table(check_case: Callable[[str], Any]) -> None:
    case = check_case("GP-01")
    prior = gamma_prior(CLAIMS, np.ones(CLAIMS.size))
    assert prior.shape is not None
    assert prior.rate is not None
    case.holds("gamma prior by marginal ML: shape nu, scale sigma", [prior.shape, 1.0 / prior.rate])
    case.holds("log-likelihood", prior.log_likelihood)
    case.holds("posterior mean, x=0..6", shrunk_rates(prior, np.arange(7), np.ones(7)).mean)


def test_claims_as_printed() -> None:
    prior = gamma_prior(CLAIMS, np.ones(CLAIMS.size))
    shrunk = shrunk_rates(prior, np.arange(7), np.ones(7))
    # The printed row; its likelihood leaves out more than seven claims, hence the third digit.
    np.testing.assert_allclose(
        shrunk.mean, [0.164, 0.398, 0.633, 0.87, 1.10, 1.34, 1.57], atol=6e-3
    )


def test_claims_of_at_most_seven_equal_every_printed_digit(
    check_case: Callable[[str], Any],
) -> None:
    # The printed fit takes more than seven claims as never seen: its prior is found here by a
    # general search of that likelihood, its posterior means by `shrunk_rates`.
    case = check_case("GP-01")
    policies = np.array(POLICIES)

    def loss(at: np.ndarray) -> float:
        shape, scale = np.exp(at)
        chance = nbinom.logpmf(np.arange(8), shape, 1 / (1 + scale))
        return float(-policies @ (chance - np.log(np.exp(chance).sum())))

    found = minimize(loss, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9})
    shape, scale = np.exp(found.x)
    prior = GammaPrior(shape, 1 / scale, shape * scale, None, 9_461, 2_028, Status.OK, "")
    means = shrunk_rates(prior, np.arange(7), np.ones(7)).mean
    case.holds(
        "posterior mean if the likelihood is conditioned on x <= 7 (matches every printed digit)",
        means,
    )
    np.testing.assert_allclose(means, [0.164, 0.398, 0.633, 0.87, 1.10, 1.34, 1.57], atol=5.1e-3)


def test_moments_of_groups_that_differ_equal_the_iteration_written_out() -> None:
    # GP-03 gives the end; here one more turn of the two equations leaves shape and rate alone.
    failed, expected = np.array([9, 1, 4, 30, 2, 12]), np.array([5.0, 3.0, 4.0, 12.0, 6.0, 5.0])
    prior = moment_gamma_prior(failed, expected)
    assert prior.shape is not None
    assert prior.rate is not None
    rates = (failed + prior.shape) / (expected + prior.rate)
    mean = rates.mean()
    variance = ((1 + prior.rate / expected) * (rates - mean) ** 2).sum() / 5
    assert (prior.shape, prior.rate) == pytest.approx(
        (mean**2 / variance, mean / variance), rel=1e-7
    )


def test_moment_iteration_equals_the_check_values(check_case: Callable[[str], Any]) -> None:
    case = check_case("GP-03")
    prior = moment_gamma_prior(case.data["observed"], case.data["expected"])
    case.holds("nu, alpha", [prior.shape, prior.rate])
    shrunk = shrunk_rates(prior, case.data["observed"], case.data["expected"])
    case.holds("smoothed ratios (O+nu)/(E+alpha)", shrunk.mean)


def test_true_spread_is_found_again() -> None:
    rng = np.random.default_rng(12)
    exposure = rng.uniform(0.5, 20.0, 4_000)
    failed = rng.poisson(exposure * rng.gamma(3.0, 0.5 / 3.0, 4_000))
    prior = gamma_prior(failed, exposure)
    assert prior.shape == pytest.approx(3.0, rel=0.1)
    assert prior.mean == pytest.approx(0.5, rel=0.03)
    shrunk = shrunk_rates(prior, failed, exposure)
    raw = failed / exposure
    assert np.all((shrunk.lower < shrunk.mean) & (shrunk.mean < shrunk.upper))
    # Every rate moves towards the common mean, never past it.
    assert prior.mean is not None
    assert np.all((shrunk.mean - prior.mean) * (raw - shrunk.mean) >= -1e-12)


def test_posterior_limits_cover_the_true_rates() -> None:
    rng = np.random.default_rng(13)
    truth = rng.gamma(2.0, 0.5, 5_000)
    exposure = rng.uniform(0.5, 10.0, 5_000)
    failed = rng.poisson(truth * exposure)
    shrunk = shrunk_rates(gamma_prior(failed, exposure), failed, exposure, level=0.9)
    covered = float(((shrunk.lower <= truth) & (truth <= shrunk.upper)).mean())
    assert covered == pytest.approx(0.9, abs=0.02)


def test_groups_alike_are_pooled_and_say_so() -> None:
    prior = gamma_prior([5, 5, 5, 5], [5.0, 5.0, 5.0, 5.0])
    assert (prior.shape, prior.mean, prior.status) == (None, 1.0, Status.CANNOT_TELL_APART)
    assert "chance" in prior.reason
    shrunk = shrunk_rates(prior, [5, 5], [5.0, 5.0])
    pooled = poisson_rate(10, 10.0)
    assert shrunk.mean.tolist() == [1.0, 1.0]
    assert shrunk.lower.tolist() == [pooled.lower] * 2


def test_nothing_to_fit_says_so() -> None:
    assert gamma_prior([], []).status == Status.NO_LIVES
    assert gamma_prior([0, 0], [1.0, 2.0]).status == Status.NO_FAILURES
    assert gamma_prior([3], [1.0]).status == Status.CANNOT_TELL_APART
    with pytest.raises(ValueError, match="must have a mean"):
        shrunk_rates(gamma_prior([0, 0], [1.0, 2.0]), [0], [1.0])


@pytest.mark.parametrize(
    ("failed", "expected", "words"),
    [
        ([1, -1], [1.0, 1.0], "index 1"),
        ([1, 0.5], [1.0, 1.0], "whole"),
        ([1, 2], [1.0, 0.0], "above 0"),
        ([1, 2], [1.0], r"`expected` must have shape \(2,\)"),
        ([1, float("nan")], [1.0, 1.0], "index 1"),
    ],
)
def test_refuses_bad_groups(failed: list[float], expected: list[float], words: str) -> None:
    for function in (gamma_prior, moment_gamma_prior):
        with pytest.raises(ValueError, match=words):
            function(failed, expected)


def test_refuses_a_level_that_is_none() -> None:
    prior = GammaPrior(1.0, 1.0, 1.0, None, 2, 2, Status.OK, "")
    shrunk_rates(prior, [1], [1.0], level=0.9)
    with pytest.raises(ValueError, match="level"):
        shrunk_rates(prior, [1], [1.0], level=0.0)

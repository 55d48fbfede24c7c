"""Shrunk shares: a published fit, general optimisers, closed forms and known truths."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import beta, betabinom, binom

from garage.lifetimes.rates.beta_binomial import (
    FEWEST_GROUPS,
    BetaPrior,
    beta_prior,
    chance_above,
    moment_beta_prior,
    shrunk_shares,
)
from garage.lifetimes.rates.binomial import exact_share
from garage.lifetimes.status import Status

# Tumours in 70 earlier groups of rats; Tarone, Biometrics 38, 1982, 215-220, as printed in Gelman
# et al., Bayesian Data Analysis, table 5.1 (read in several transcriptions).
TUMOURS = (
    [0] * 14 + [1] * 8 + [2] * 9 + [1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10] + [4] * 7
    + [10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9]
)  # fmt: skip
RATS = (
    [20] * 7 + [19] * 4 + [18, 18, 17] + [20] * 4 + [19, 19, 18, 18, 25, 24, 23] + [20] * 6
    + [10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50] + [20] * 7
    + [48, 19, 19, 19, 22, 46, 49, 20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24]
)  # fmt: skip


def test_likelihood_of_the_sibships_equals_the_printed_one() -> None:
    # Boys among the first 12 children of 6 115 families in Saxony 1876 to 1885 (Geissler 1889, in
    # Lindsey and Altham, Applied Statistics 47(1), 1998, 149-157). Log-likelihood -12 492.9 and
    # AIC 24 989.74 of the beta-binomial, 25 070.34 of the binomial law; moments 34.095 and 31.571.
    # All from memory; the counts add up to the printed 6 115 families.
    families = [3, 24, 104, 286, 670, 1033, 1343, 1112, 829, 478, 181, 45, 7]
    boys, children = np.repeat(np.arange(13), families), np.full(6_115, 12)
    prior = beta_prior(boys, children)
    assert prior.log_likelihood is not None
    assert 4 - 2 * prior.log_likelihood == pytest.approx(24_989.74, abs=0.005)
    plain = binom(12, boys.sum() / children.sum()).logpmf(boys).sum()
    assert 2 - 2 * plain == pytest.approx(25_070.34, abs=0.005)
    moments = moment_beta_prior(boys, children)
    assert (moments.alpha, moments.beta) == pytest.approx((34.095, 31.571), abs=1e-3)


def test_spread_of_the_rats_equals_the_printed_fit() -> None:
    # Vignette of the R package BayesGOF: 2.304768, 14.079707, by a general search.
    prior = beta_prior(TUMOURS, RATS)
    assert (prior.groups, prior.n, prior.failed) == (70, 1725, 263)
    assert (prior.alpha, prior.beta) == pytest.approx((2.304768, 14.079707), rel=2e-5)
    assert prior.alpha is not None
    assert prior.beta is not None
    # The group that came after: 4 of 14.
    after = shrunk_shares(prior, [4], [14])
    assert after.mean[0] == pytest.approx((4 + 2.304768) / (14 + 2.304768 + 14.079707), rel=1e-5)
    posterior = beta(4 + prior.alpha, 10 + prior.beta)
    assert (after.lower[0], after.upper[0]) == pytest.approx(posterior.interval(0.95))
    assert chance_above(prior, 4, 14, 0.3) == pytest.approx(posterior.sf(0.3))


def test_log_likelihood_is_that_of_the_distribution() -> None:
    prior = beta_prior(TUMOURS, RATS)
    written_out = betabinom.logpmf(TUMOURS, RATS, prior.alpha, prior.beta).sum()
    assert prior.log_likelihood == pytest.approx(float(written_out))


def test_fit_is_no_worse_than_a_general_search() -> None:
    rng = np.random.default_rng(21)
    fitted = 0
    for _ in range(15):
        n = rng.integers(1, 30, 40)
        failed = rng.binomial(n, rng.beta(*rng.uniform(0.3, 8, 2), 40))
        prior = beta_prior(failed, n)
        if prior.alpha is None:
            continue
        found = minimize(
            lambda at: -betabinom.logpmf(failed, n, *np.exp(at)).sum(),  # noqa: B023
            [0.0, 0.0],
            method="Nelder-Mead",
            options={"xatol": 1e-8, "fatol": 1e-10, "maxiter": 4_000},
        )
        assert prior.log_likelihood == pytest.approx(-found.fun, abs=1e-7)
        assert np.log([prior.alpha, prior.beta]) == pytest.approx(found.x, abs=1e-4)
        fitted += 1
    assert fitted >= 12


def test_moments_of_equal_groups_equal_a_hand_count() -> None:
    # Six groups of ten: 0, 1, 5, 2, 9, 0; p = 17/60, sum 10 (share - p)^2 / pq = 30.9..., so
    # tau = (S - 5) / (60 - 10 - 5) and alpha + beta = 1 / tau - 1.
    failed = np.array([0, 1, 5, 2, 9, 0])
    p = 17 / 60
    tau = (float((10 * (failed / 10 - p) ** 2).sum()) / (p * (1 - p)) - 5) / 45
    prior = moment_beta_prior(failed, [10] * 6)
    assert prior.alpha == pytest.approx(p * (1 / tau - 1))
    assert prior.beta == pytest.approx((1 - p) * (1 / tau - 1))


def test_true_spread_is_found_again() -> None:
    rng = np.random.default_rng(12)
    n = rng.integers(2, 40, 4_000)
    failed = rng.binomial(n, rng.beta(2.0, 6.0, 4_000))
    for fitted in (beta_prior(failed, n), moment_beta_prior(failed, n)):
        assert fitted.alpha == pytest.approx(2.0, rel=0.12)
        assert fitted.beta == pytest.approx(6.0, rel=0.12)


def test_posterior_limits_cover_the_true_shares() -> None:
    """5 000 groups of 2 to 40 jobs, 90 % limits: found in 90 % of them, within 2 %."""
    rng = np.random.default_rng(13)
    truth, n = rng.beta(1.5, 8.0, 5_000), rng.integers(2, 41, 5_000)
    failed = rng.binomial(n, truth)
    shrunk = shrunk_shares(beta_prior(failed, n), failed, n, level=0.9)
    covered = float(((shrunk.lower <= truth) & (truth <= shrunk.upper)).mean())
    assert covered == pytest.approx(0.9, abs=0.02)


@pytest.mark.slow
def test_limits_of_few_groups_cover_less_often_than_they_say() -> None:
    """200 regions of 20 workshops of 5 to 40 jobs, 95 % limits: found 0.89.

    The limits take the fitted prior as known; the docstring of shrunk_shares says so.
    """
    rng = np.random.default_rng(14)
    held = []
    for _ in range(200):
        truth, n = rng.beta(3.0, 15.0, 20), rng.integers(5, 41, 20)
        failed = rng.binomial(n, truth)
        prior = beta_prior(failed, n)
        shrunk = shrunk_shares(prior, failed, n)
        if prior.alpha is not None:
            held.append((shrunk.lower <= truth) & (truth <= shrunk.upper))
    assert float(np.mean(held)) == pytest.approx(0.89, abs=0.02)


@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=5, max_size=25).filter(
        lambda groups: all(sum(each) for each in groups)
    )
)
def test_shares_move_towards_the_common_mean_and_never_past_it(
    groups: list[tuple[int, int]],
) -> None:
    failed = np.array([each[0] for each in groups])
    n = np.array([sum(each) for each in groups])
    prior = beta_prior(failed, n)
    shrunk = shrunk_shares(prior, failed, n)
    assert prior.mean is not None
    assert np.all((shrunk.mean - prior.mean) * (failed / n - shrunk.mean) >= -1e-9)
    assert np.all((shrunk.lower <= shrunk.upper) & (shrunk.lower >= 0) & (shrunk.upper <= 1))
    other_way = beta_prior(n - failed, n)
    if prior.status is Status.OK and other_way.status is Status.OK:
        assert (other_way.beta, other_way.alpha) == pytest.approx(
            (prior.alpha, prior.beta), rel=1e-3
        )


@pytest.mark.parametrize(
    ("failed", "n", "status", "mean"),
    [
        ([], [], Status.NO_LIVES, None),
        ([0] * 6, [5] * 6, Status.NO_FAILURES, 0.0),
        ([5] * 6, [5] * 6, Status.ALL_FAILED, 1.0),
        ([2] * 6, [5] * 6, Status.CANNOT_TELL_APART, 0.4),
        ([0, 5, 2, 1], [5] * 4, Status.FEW_CLUSTERS, 0.4),
        ([0, 1, 1, 0, 1, 0, 0, 3], [1] * 7 + [3], Status.FEW_CLUSTERS, 0.6),
        ([0, 5, 0, 5, 5, 0], [5] * 6, Status.NOT_CONVERGED, 0.5),
        # Where all or nothing is rare, the likelihood is flat at the least precision too.
        ([2, *[0] * 9_999], [2] * 10_000, Status.NOT_CONVERGED, 0.0001),
    ],
)
def test_groups_without_a_spread_get_the_pooled_share_and_say_why(
    failed: list[int], n: list[int], status: Status, mean: float | None
) -> None:
    prior = beta_prior(failed, n)
    assert (prior.status, prior.alpha, prior.beta) == (status, None, None)
    assert prior.reason
    assert prior.mean == pytest.approx(mean)
    if mean is None:
        with pytest.raises(ValueError, match="must have a mean"):
            shrunk_shares(prior, [1], [2])
        return
    shrunk = shrunk_shares(prior, failed, n)
    pooled = exact_share(sum(failed), sum(n))
    assert set(shrunk.lower.tolist()) == {pooled.lower}
    assert set(shrunk.upper.tolist()) == {pooled.upper}
    assert set(shrunk.mean.tolist()) == {prior.mean}
    assert (shrunk.status, shrunk.reason) == (prior.status, prior.reason)
    assert chance_above(prior, 1, 2, 0.5) is None


def test_search_that_does_not_settle_gives_the_pooled_share(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert beta_prior(TUMOURS, RATS).status is Status.OK
    monkeypatch.setattr("garage.lifetimes.rates.beta_binomial.LARGEST_SLOPE", 0.0)
    prior = beta_prior(TUMOURS, RATS)
    assert (prior.status, prior.alpha) == (Status.NOT_CONVERGED, None)
    assert prior.mean == pytest.approx(263 / 1725)


def test_fewest_groups_are_enough() -> None:
    assert beta_prior([0, 4, 2, 1, 0], [5] * FEWEST_GROUPS).status is Status.OK


@pytest.mark.parametrize(
    ("failed", "n", "words"),
    [
        ([1, -1], [2, 2], "index 1"),
        ([1, 0.5], [2, 2], "index 1"),
        ([1, 3], [2, 2], "index 1"),
        ([1, 0], [2, 0], "without a chance"),
        ([1, 1], [2, float("nan")], "index 1"),
        ([1, 2], [2], r"`n` must have shape \(2,\)"),
    ],
)
def test_refuses_bad_groups(failed: list[float], n: list[float], words: str) -> None:
    for function in (beta_prior, moment_beta_prior):
        with pytest.raises(ValueError, match=words):
            function(failed, n)


def test_refuses_a_level_and_a_share_that_are_none() -> None:
    prior = BetaPrior(1.0, 1.0, 0.5, None, 5, 10, 5, Status.OK, "")
    shrunk_shares(prior, [1], [2], level=0.9)
    with pytest.raises(ValueError, match="level"):
        shrunk_shares(prior, [1], [2], level=0.0)
    with pytest.raises(ValueError, match="between 0 and 1"):
        chance_above(prior, 1, 2, 1.5)

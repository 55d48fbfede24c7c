"""Capture shares against hand counts, tables of the Beta law and simulated truth."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from garage.lifetimes.capture.share import (
    COMEBACK_PRIOR,
    PART_PRIOR,
    CapturePrior,
    all_captured,
    capture_share,
    captured_share,
    looked_at_share,
)
from garage.lifetimes.status import Status


def test_share_without_prior_is_the_formula() -> None:
    share = capture_share(60, 14, prior=CapturePrior(stay_away=0.3, mean=0.8, weight=0))
    assert share.value == pytest.approx(60 / (60 + 14 / 0.7))
    assert share.n == 74


def test_nothing_seen_gives_the_prior() -> None:
    for prior in (PART_PRIOR, COMEBACK_PRIOR):
        share = capture_share(0, 0, prior=prior)
        assert share.value == pytest.approx(prior.mean)
        assert share.lower is not None
        assert share.upper is not None
        assert share.lower < prior.mean < share.upper


def chance_below(
    q: float, here: float, elsewhere: float, prior: CapturePrior, *, moment: bool = False
) -> float:
    """Second way: the law of q by Bayes' rule, integrated; with `moment`, of p = here of looked at.

    The density of q is that which the prior's Beta law of p gives it, times the binomial chance
    of the looks, p**here (1 - p)**elsewhere with p = q / (q + (1 - q) (1 - g)).
    """
    g = prior.stay_away
    held = prior.mean / (prior.mean + (1 - prior.mean) * (1 - g))

    def height(q: float) -> float:
        p = q / (q + (1 - q) * (1 - g))
        of_p = p ** (prior.weight * held - 1) * (1 - p) ** (prior.weight * (1 - held) - 1)
        slope = (1 - g) / (q + (1 - q) * (1 - g)) ** 2
        return float(of_p * slope * p**here * (1 - p) ** elsewhere * (p if moment else 1))

    return float(quad(height, 0, q, limit=500, epsabs=0, epsrel=1e-9)[0])


@pytest.mark.parametrize(("here", "elsewhere"), [(30, 7), (5, 4), (2, 3)])
@pytest.mark.parametrize("prior", [PART_PRIOR, CapturePrior(0.5, 0.6, 10)])
def test_value_and_limits_are_those_of_the_integrated_law(
    here: int, elsewhere: int, prior: CapturePrior
) -> None:
    share = capture_share(here, elsewhere, prior=prior, level=0.9)
    assert share.value is not None
    assert share.lower is not None
    assert share.upper is not None
    whole = chance_below(1, here, elsewhere, prior)
    assert chance_below(share.lower, here, elsewhere, prior) / whole == pytest.approx(0.05)
    assert chance_below(share.upper, here, elsewhere, prior) / whole == pytest.approx(0.95)
    mean_looked_at = chance_below(1, here, elsewhere, prior, moment=True) / whole
    assert looked_at_share(share.value, prior.stay_away) == pytest.approx(mean_looked_at)


def test_those_who_stay_away_do_not_count_as_seen() -> None:
    # Twenty here and ten found out: seen as they are, 30 failures; raised by 1 / (1 - g), 40.
    # The looks are 30 whatever g, so that a larger g only moves p, and with it q.
    firm = CapturePrior(stay_away=0.5, mean=0.5, weight=0)
    share = capture_share(20, 10, prior=firm)
    assert share.value == pytest.approx(20 / (20 + 20))
    assert (share.alpha, share.beta, share.n) == (20, 10, 30)


@pytest.mark.parametrize("prior", [PART_PRIOR, COMEBACK_PRIOR])
def test_prior_yields_to_what_is_found(prior: CapturePrior) -> None:
    """Half come here and ten are looked at: the prior moves the share by less than 0.1.

    With the weight of ten failures, as it was, it moved it by more.
    """
    expected = 10 * looked_at_share(0.5, prior.stay_away)
    share = capture_share(float(expected), float(10 - expected), prior=prior)
    assert share.value == pytest.approx(0.5, abs=0.1)
    as_it_was = CapturePrior(prior.stay_away, prior.mean, 10)
    heavy = capture_share(float(expected), float(10 - expected), prior=as_it_was)
    assert heavy.value is not None
    assert heavy.value > 0.6


@given(
    st.floats(0, 1),
    st.floats(0, 0.99),
)
def test_shares_of_all_and_of_those_looked_at_turn_into_each_other(q: float, g: float) -> None:
    p = looked_at_share(q, g)
    assert q - 1e-12 <= p <= 1
    assert captured_share(p, g) == pytest.approx(q, abs=1e-12)


def test_prior_is_worth_its_weight_divided_as_its_mean_says() -> None:
    prior = CapturePrior(stay_away=0.5, mean=0.5, weight=6)
    # Of three here and three elsewhere, one and a half are looked at again: two to one.
    assert (prior.here, prior.elsewhere) == pytest.approx((4, 2))


def test_failures_only_elsewhere_and_no_prior_have_no_share() -> None:
    nothing_held = CapturePrior(stay_away=0, mean=0.8, weight=0)
    share = capture_share(0, 4, prior=nothing_held)
    assert (share.value, share.status) == (None, Status.NO_FAILURES)
    assert "no failure was repaired here" in share.reason
    assert capture_share(1, 4, prior=nothing_held).value == pytest.approx(0.2)


def test_all_repairs_seen_is_one_without_doubt() -> None:
    known = all_captured()
    assert (known.value, known.lower, known.upper, known.beta) == (1, 1, 1, 0)


@pytest.mark.parametrize(
    ("prior", "rule"),
    [
        ((1.0, 0.8, 10), "stay-away share lies from 0 to below 1"),
        ((-0.1, 0.8, 10), "stay-away share"),
        ((0.3, 1.1, 10), "prior mean"),
        ((0.3, 0.8, -1), "prior weight"),
    ],
)
def test_priors_that_cannot_be_are_refused(prior: tuple[float, float, float], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        CapturePrior(*prior)


@pytest.mark.parametrize("counts", [(-1, 0), (0, -1), (float("nan"), 0)])
def test_counts_below_zero_are_refused(counts: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="never below 0"):
        capture_share(*counts)


def test_share_is_found_again_in_a_simulated_town() -> None:
    # 4 000 failures, 65 % repaired here; of the others 30 % never return to be looked at.
    rng = np.random.default_rng(20)
    here = rng.random(4000) < 0.65
    returns = here | (rng.random(4000) >= 0.3)
    share = capture_share(int((here & returns).sum()), int((~here & returns).sum()))
    assert share.value == pytest.approx(0.65, abs=0.02)
    seen_alone = here[returns].mean()
    assert seen_alone > 0.70

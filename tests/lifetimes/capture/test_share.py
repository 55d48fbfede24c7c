"""Capture shares against hand counts, tables of the Beta law and simulated truth."""

import numpy as np
import pytest
from scipy.special import betainc

from garage.lifetimes.capture.share import (
    COMEBACK_PRIOR,
    PART_PRIOR,
    CapturePrior,
    all_captured,
    capture_share,
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


def test_limits_leave_out_half_the_rest_on_each_side() -> None:
    share = capture_share(30, 7, level=0.9)
    assert share.lower is not None
    assert share.upper is not None
    assert betainc(share.alpha, share.beta, share.lower) == pytest.approx(0.05)
    assert betainc(share.alpha, share.beta, share.upper) == pytest.approx(0.95)


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

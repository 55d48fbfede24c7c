"""The stay-away share against laws in closed form, a slow second way and simulated truth."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import beta, poisson

from garage.lifetimes.capture.answers import Returned, SilentAnswers
from garage.lifetimes.capture.share import CaptureShare, all_captured, capture_share
from garage.lifetimes.capture.stay_away import (
    STAY_AWAY_PRIOR,
    StayAwayPrior,
    stay_away_share,
)
from garage.lifetimes.status import Status
from tests.lifetimes.capture.silent_town import Town, captured_with, measured, naive

LOOKS = capture_share(40, 14)
NOBODY = np.array([])


def test_prior_is_the_judgement_and_has_no_peak_at_nought() -> None:
    assert STAY_AWAY_PRIOR.mean == 0.3
    assert STAY_AWAY_PRIOR.mean * STAY_AWAY_PRIOR.weight == pytest.approx(1)


def test_all_asked_and_all_looked_at_give_the_law_in_closed_form() -> None:
    """Nobody left for another reason: then 5 of 5 + 2 + 8 stayed away, and the law is Beta's."""
    silent = SilentAnswers(np.zeros(5), NOBODY, 2, asked_share=1, failures=60)
    share = stay_away_share(silent, Returned(8, looked_share=1), LOOKS, level=0.9)
    law = beta(1 + 5, 1 / 0.3 - 1 + 10)
    assert share.value == pytest.approx(law.mean(), abs=2e-4)
    assert (share.lower, share.upper) == pytest.approx(law.ppf([0.05, 0.95]), abs=2e-3)
    assert (share.n, share.status) == (15, Status.OK)


def by_brute_force(
    silent: SilentAnswers, returned: Returned, looks: CaptureShare, rng: np.random.Generator
) -> float:
    """Second way: draw g, w, p and the hazard's error from what is held of them, and weigh each by
    the Poisson chance of every count, summed over many M and L."""
    many = np.geomspace(0.5, 2000, 120)
    weights = np.sqrt(many)  # Jeffreys' law on a grid of even ratios
    total = weighed = 0.0
    prior = STAY_AWAY_PRIOR
    for _ in range(3000):
        g = rng.beta(prior.weight * prior.mean, prior.weight * (1 - prior.mean))
        w, p = rng.random(), rng.beta(looks.alpha, looks.beta)
        error = rng.gamma(silent.failures) / silent.failures
        q = p * (1 - g) / (1 - g * p)
        hazard = float(silent.gone_elsewhere[0])
        m = 1 - np.exp(-hazard * error / q)
        customers, left = many[:, None], many
        s, c = silent.asked_share, returned.looked_share
        chance = (
            poisson.pmf(silent.gone_elsewhere.size, s * (g * customers + m * left))
            * poisson.pmf(silent.gone_without.size, s * (1 - m) * left)
            * poisson.pmf(silent.returning_elsewhere, s * w * customers * (1 - g))
            * poisson.pmf(returned.found, c * (1 - w) * customers * (1 - g))
        )
        likelihood = float(weights @ chance @ weights)
        total += likelihood
        weighed += likelihood * g
    return weighed / total


def test_share_is_that_of_the_slow_second_way() -> None:
    """A sample, looks at some, leavers: all hazards alike, so that counts tell all."""
    silent = SilentAnswers(np.full(9, 0.15), np.full(14, 0.15), 2, asked_share=0.4, failures=30)
    returned = Returned(12, looked_share=0.6)
    share = stay_away_share(silent, returned, LOOKS)
    slow = by_brute_force(silent, returned, LOOKS, np.random.default_rng(3))
    assert share.value == pytest.approx(slow, abs=0.012)


def test_who_left_for_another_reason_lowers_the_share() -> None:
    """Of keepers gone with a part repaired elsewhere, some had left before it failed."""
    returned = Returned(12, looked_share=0.5)
    fresh = SilentAnswers(np.zeros(10), np.zeros(30), 0, asked_share=0.5, failures=60)
    old = SilentAnswers(np.full(10, 0.2), np.full(30, 0.2), 0, asked_share=0.5, failures=60)
    assert (
        stay_away_share(old, returned, LOOKS).value
        < stay_away_share(fresh, returned, LOOKS).value - 0.1
    )


def test_a_hazard_known_from_few_failures_leaves_more_doubt() -> None:
    returned = Returned(60, looked_share=0.8)

    def width(failures: int) -> float:
        told = SilentAnswers(np.full(60, 0.2), np.full(90, 0.2), 0, 0.5, failures=failures)
        share = stay_away_share(told, returned, LOOKS)
        return share.upper - share.lower

    assert width(8) > 1.1 * width(800)


def test_lower_limit_is_nought_where_nought_is_among_the_likeliest() -> None:
    returned = Returned(30, looked_share=0.9)
    none = SilentAnswers(NOBODY, np.full(20, 0.1), 1, asked_share=0.8, failures=60)
    many = SilentAnswers(np.full(20, 0.0), NOBODY, 1, asked_share=0.8, failures=60)
    assert stay_away_share(none, returned, LOOKS).lower == 0
    assert stay_away_share(many, returned, LOOKS).lower > 0.2


NOTHING_TOLD = SilentAnswers(NOBODY, NOBODY, 0, asked_share=0, failures=60)
TOLD = SilentAnswers(np.zeros(3), NOBODY, 0, asked_share=0.5, failures=60)
NONE_ELSEWHERE = SilentAnswers(NOBODY, np.zeros(3), 0, asked_share=0.5, failures=60)


@pytest.mark.parametrize(
    ("silent", "returned", "status"),
    [
        (NOTHING_TOLD, Returned(4, 0.5), Status.NO_LIVES),
        (TOLD, Returned(0, 0), Status.CANNOT_TELL_APART),
        (NONE_ELSEWHERE, Returned(0, 0.5), Status.NO_FAILURES),
    ],
)
def test_answers_that_teach_nothing_leave_the_judgement_with_a_reason(
    silent: SilentAnswers, returned: Returned, status: Status
) -> None:
    share = stay_away_share(silent, returned, LOOKS)
    assert (share.value, share.status, share.n) == (0.3, status, 0)
    assert share.reason
    assert not share.is_measured
    # The Beta law (1, 7/3): its distribution is 1 - (1 - g) ** (7 / 3).
    assert share.upper == pytest.approx(1 - 0.025 ** (3 / 7))


def test_one_answer_more_measures() -> None:
    assert stay_away_share(TOLD, Returned(1, 0.5), LOOKS).is_measured


def test_who_sees_all_repairs_may_be_asked_too() -> None:
    assert 0 < stay_away_share(TOLD, Returned(1, 0.5), all_captured()).value < 1


@pytest.mark.parametrize(
    ("make", "rule"),
    [
        (lambda: StayAwayPrior(0, 3), "prior mean"),
        (lambda: StayAwayPrior(0.3, 0), "prior weight"),
        (lambda: Returned(-1, 0.5), "never below 0"),
        (lambda: Returned(1, 1.1), r"lies in \[0, 1\]"),
        (lambda: SilentAnswers(np.array([-0.1]), NOBODY, 0, 0.5, 60), "cumulative hazards"),
        (lambda: SilentAnswers(NOBODY, np.array([np.inf]), 0, 0.5, 60), "cumulative hazards"),
        (lambda: SilentAnswers(NOBODY, NOBODY, 0, 0.5, 0), "more than 0 failures"),
        (lambda: stay_away_share(TOLD, Returned(1, 0.5), LOOKS, level=1), "level"),
    ],
)
def test_what_cannot_be_is_refused(make, rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        make()


REPETITIONS = 200


@pytest.mark.slow
@pytest.mark.parametrize("true", [0.0, 0.1, 0.3, 0.5])
def test_limits_hold_the_truth_of_simulated_workshops(true: float) -> None:
    """500 vehicles, 80 drawn of whom 70 in a hundred tell, 4 in a hundred leave a year.

    At the ends of what is held likely limits hold too often rather than too rarely.
    """
    town, rng = Town(true, leaving_rate=0.04), np.random.default_rng(11)
    found = [measured(town, rng) for _ in range(REPETITIONS)]
    held = np.mean([share.lower <= true <= share.upper for share in found])
    value = np.mean([share.value for share in found])
    assert held >= 0.90
    # Few answers leave much of the judgement: errors lie towards 0.3.
    assert min(true, 0.3) - 0.07 <= value <= max(true, 0.3)


@pytest.mark.slow
def test_many_answers_find_the_truth() -> None:
    """Three workshops of 8 000 vehicles each: one alone is found to 0.04, a standard deviation."""
    rng = np.random.default_rng(12)
    town = Town(0.0, 8000, leaving_rate=0.04, calls=2000, told_share=1, failures=2000)
    for true in (0.0, 0.3, 0.5):
        found = [measured(replace(town, stay_away=true), rng).value for _ in range(3)]
        assert np.mean(found) == pytest.approx(true, abs=0.05)


@pytest.mark.slow
def test_answers_taken_as_they_are_find_far_too_many() -> None:
    """Who forgets those that left before takes 0 for more than a half."""
    rng = np.random.default_rng(13)
    assert np.mean([naive(Town(0.0), rng) for _ in range(20)]) > 0.5


@pytest.mark.slow
def test_capture_share_with_calls_is_nearer_the_truth_than_a_wrong_judgement() -> None:
    town, rng = Town(0.0, vehicles=2000, calls=300, leaving_rate=0.04), np.random.default_rng(14)
    both = np.array([captured_with(town, rng) for _ in range(20)])
    with_calls, judged = np.abs(both.mean(axis=0) - town.capture)
    assert with_calls < 0.6 * judged

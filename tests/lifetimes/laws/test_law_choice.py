"""Choice between families of laws by Akaike's criterion."""

import numpy as np
import pytest

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_choice import FEWEST_TO_CHOOSE, law_choice
from garage.lifetimes.laws.law_search import highest_top
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of


def drawn(family: FamilyName, size: int, seed: int, sigma: float = 0.5) -> IntervalLives:
    shares = np.random.default_rng(seed).uniform(size=size)
    life = 1e5 * np.exp(sigma * FAMILIES[family].standard.deviate(shares))
    return IntervalLives(life, life)


@pytest.mark.parametrize("family", ["weibull", "lognormal", "log-logistic"])
def test_large_sample_speaks_for_its_own_family(family: FamilyName) -> None:
    choice = law_choice(drawn(family, 3000, 8))
    assert choice.best is not None
    assert choice.best.family == family
    assert choice.status is Status.OK
    assert "has essentially no support" in choice.reason


def test_ranking_and_weights_follow_from_aic() -> None:
    choice = law_choice(drawn("lognormal", 40, 1))
    aics = [fit.aic for fit in choice.fits]
    assert None not in aics
    assert aics == sorted(aics)
    wanted = np.exp(-(np.array(aics, float) - aics[0]) / 2)
    np.testing.assert_allclose(choice.differences, np.array(aics, float) - aics[0])
    np.testing.assert_allclose(choice.weights, wanted / wanted.sum())


def test_order_of_asking_does_not_matter() -> None:
    lives = drawn("weibull", 30, 2)
    names: tuple[FamilyName, ...] = ("lognormal", "weibull", "exponential", "log-logistic")
    assert law_choice(lives, families=names).reason == law_choice(lives).reason


def test_close_families_are_named_and_not_told_apart() -> None:
    hours = [450, 1150, 1600, 2070, 2080, 3100, 3450, 4600, 6100, 8750, 8750, 9200]
    choice = law_choice(table_of(hours, [1] * 12), families=("exponential", "weibull"))
    assert choice.status is Status.CANNOT_TELL_APART
    assert choice.best is not None
    assert choice.reason == (
        "exponential fits best; Weibull is 0.2 behind: the data cannot tell them apart"
    )


def test_too_few_failures_choose_nothing() -> None:
    life = np.sort(drawn("lognormal", FEWEST_TO_CHOOSE, 5).left)
    enough = law_choice(IntervalLives(life, life))
    right = np.where(np.arange(len(life)) < FEWEST_TO_CHOOSE - 1, life, np.inf)
    few = law_choice(IntervalLives(life, right))
    assert enough.best is not None
    assert (few.status, few.best) == (Status.FEW_FAILURES, None)
    assert few.reason.startswith("9 failures cannot choose between laws")
    assert len(few.fits) == len(few.weights) == 4


def test_family_without_a_fit_is_named_and_left_out() -> None:
    # One distance, all failed: only the exponential law has a fit.
    choice = law_choice(table_of([5000] * 12, [1] * 12), families=("weibull", "exponential"))
    assert choice.best is not None
    assert choice.best.family == "exponential"
    assert choice.reason == (
        "exponential is the only law fitted; "
        "Weibull has no fit: all 12 failures fell on 5 000 steps"
    )
    assert len(choice.weights) == 1
    assert choice.fits[1].law is None


def test_no_failures_give_the_status_of_the_fits() -> None:
    choice = law_choice(table_of([10, 20], [0, 0]))
    assert (choice.status, choice.best, choice.weights) == (Status.NO_FAILURES, None, ())
    assert choice.fits[0].rate_upper is not None


@pytest.mark.parametrize("names", [(), ("weibull", "weibull")])
def test_no_family_or_one_twice_is_refused(names: tuple[FamilyName, ...]) -> None:
    with pytest.raises(ValueError, match="name at least one family, none of them twice"):
        law_choice(table_of([10, 20], [1, 1]), families=names)


@pytest.mark.parametrize(("truth", "other"), [("weibull", "lognormal"), ("lognormal", "weibull")])
def test_few_failures_seldom_point_clearly_to_the_true_family(
    truth: FamilyName, other: FamilyName
) -> None:
    """200 samples of 8 failures among 12 lives, shape 2: the true family is the better one in
    about three of five, by more than 2 in about one of ten; with 100 failures among 150 in nine
    of ten, and by more than 2 in four of five."""
    for failed, least, most, clear_least, clear_most in (
        (8, 0.45, 0.75, 0.0, 0.2),
        (100, 0.8, 1.0, 0.7, 0.95),
    ):
        ahead = []
        for number in range(200):
            life = np.sort(drawn(truth, failed * 3 // 2, 1000 + number).left)
            right = np.where(np.arange(len(life)) < failed, life, np.inf)
            left = np.minimum(life, life[failed - 1])
            rows = LikelihoodRows.from_intervals(IntervalLives(left, right))
            mine, theirs = (
                highest_top(LogLikelihood.of(FAMILIES[name].standard, rows)).height.value
                for name in (truth, other)
            )
            ahead.append(2 * (mine - theirs))
        assert least < np.mean(np.array(ahead) > 0) < most
        assert clear_least <= np.mean(np.array(ahead) > 2) < clear_most

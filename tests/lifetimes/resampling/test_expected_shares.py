"""Shares of lives withdrawn, against simulated vehicles, sums and the integral they stand for."""

from collections.abc import Iterable

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.resampling.expected_input import ExpectedLives
from garage.lifetimes.resampling.expected_shares import (
    FirstEstimate,
    Shares,
    Silences,
    by_first_estimate,
    by_visits_alone,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence import expected_withdrawals
from tests.lifetimes.resampling.silent_lives import YEARLY, group_with, lives_of, once_seen

CLOCK = np.arange(0, 500_001, 1_000.0)
WEARS_OUT = FirstEstimate(CLOCK, (CLOCK / 200_000) ** 2.5)
NEVER_FAILS = FirstEstimate(CLOCK, np.zeros(CLOCK.size))


def silences_of(lives: ExpectedLives, law: VisitLaw, silence: float) -> Silences:
    groups = [group_with(law, once_seen(lives.n, silence))]
    return Silences.judged(lives, groups, [law], np.flatnonzero(lives.silent))


def at_risk(parts: Iterable[Shares], n: int, clock: FloatArray) -> FloatArray:
    """Of the n lives, how much is at risk just after each clock value."""
    left = np.zeros(clock.size)
    for each in parts:
        left += np.sum(each.share[:, None] * (each.clock[:, None] <= clock), axis=0)
    return np.asarray(n - left, np.float64)


@pytest.mark.parametrize("capture", [1.0, 0.5])
@pytest.mark.parametrize("law", [VisitLaw(1.0, 0.5, 2.0, 0.3), YEARLY], ids=str)
def test_shares_equal_those_of_simulated_vehicles_that_were_as_silent(
    law: VisitLaw, capture: float
) -> None:
    # Parts with 100 000 km, 40 000 km a year, silent for three years, all others left out.
    rng, n, silence, pace = np.random.default_rng(4), 1_000_000, 3.0, 40_000.0
    leaves = rng.exponential(1 / law.leaving_rate, n)
    rate = rng.gamma(law.rate_shape, law.visit_rate / law.rate_shape, n)
    visit = rng.gamma(law.regularity, 1 / law.regularity, n) / rate
    hazard = 0.5**2.5 + rng.exponential(size=n)
    fails = (200_000 * hazard**0.4 - 100_000) / pace
    here = rng.random(n) < capture
    silent = visit > np.minimum(leaves, silence)
    silent &= ~(here & (fails < np.minimum(leaves, silence)))
    ends = np.minimum(np.minimum(leaves, fails), silence)[silent]
    lives = lives_of(1, pace=[pace])
    silences = silences_of(lives, law, silence)
    ages = np.array([110_000.0, 130_000.0, 160_000.0, 190_000.0, 215_000.0])
    truth = np.mean(ends[:, None] * pace > ages - 100_000, axis=0)
    unnoticed = np.array([1 - capture])
    # Of a single life, eight times of leaving say where it is within a tenth.
    shares = by_first_estimate(lives, silences, WEARS_OUT, unnoticed)
    np.testing.assert_allclose(at_risk(shares, 1, ages), truth, atol=0.1)
    left = expected_withdrawals(law, once_seen(1, silence), points=200)
    times = np.concatenate([[0.0], left.elapsed[0], [silence]])
    finer = Silences(
        np.array([0]), 100_000 + pace * times[None, :], left.share_each, left.remaining
    )
    found = at_risk(by_first_estimate(lives, finer, WEARS_OUT, unnoticed), 1, ages)
    np.testing.assert_allclose(found, truth, atol=0.006)


def test_shares_by_visits_alone_are_the_withdrawals_on_the_life_s_clock() -> None:
    lives = lives_of(2, pace=[20_000.0, 10_000.0], silent=[True, False], history=[0, -1])
    known = once_seen(2, 3.0)
    left = expected_withdrawals(YEARLY, known)
    parts = list(by_visits_alone(lives, silences_of(lives, YEARLY, 3.0)))
    assert parts[0].life.tolist() == [1]
    assert (parts[0].clock.tolist(), parts[0].share.tolist()) == ([100_000], [1.0])
    assert parts[1].life.tolist() == [0] * 9
    times = [*left.elapsed[0], 3.0]
    assert parts[1].clock.tolist() == [int(np.ceil(100_000 + 20_000 * at)) for at in times]
    np.testing.assert_allclose(parts[1].share, [*[left.share_each[0]] * 8, left.remaining[0]])


def test_all_captured_and_judged_with_its_part_is_the_integral_with_unfailed() -> None:
    lives = lives_of(1)
    known = once_seen(1, 3.0)

    def unfailed(times: FloatArray, which: slice) -> FloatArray:
        return WEARS_OUT.survival(100_000 + 20_000 * times)

    slow = expected_withdrawals(YEARLY, known, unfailed=unfailed, points=400)
    end = [20_000 * float(slow.elapsed.mean()), 60_000.0]
    mean = end[0] * (1 - slow.remaining[0]) + end[1] * slow.remaining[0]
    parts = by_first_estimate(lives, silences_of(lives, YEARLY, 3.0), WEARS_OUT, np.zeros(1))
    found = sum(float(each.share @ (each.clock - 100_000)) for each in parts)
    assert found == pytest.approx(mean, rel=0.01)


@pytest.mark.parametrize("unnoticed", [0.0, 0.4])
def test_a_part_that_never_fails_leaves_with_its_vehicle(unnoticed: float) -> None:
    lives = lives_of(3, looked=[0, 50_000, 100_000])
    silences = silences_of(lives, YEARLY, 3.0)
    ages = np.arange(100_000, 160_001, 5_000.0)
    np.testing.assert_allclose(
        at_risk(by_first_estimate(lives, silences, NEVER_FAILS, np.full(3, unnoticed)), 3, ages),
        at_risk(by_visits_alone(lives, silences), 3, ages),
        atol=1e-9,
    )


def test_since_the_last_look_a_part_may_have_been_replaced_unnoticed() -> None:
    lives = lives_of(1, silent=[False], history=[-1], pace=[0.0], looked=[20_000], exit=[180_000])
    nobody = silences_of(lives, YEARLY, 3.0)
    begin, end = WEARS_OUT.survival(np.array([20_000.0, 180_000.0]))
    # Bayes' rule: unfailed, or failed and repaired elsewhere by one who is still here.
    here = end / (end + 0.3 * (begin - end))
    ages = np.array([19_999.0, 100_000.0, 179_999.0, 180_000.0])
    found = at_risk(by_first_estimate(lives, nobody, WEARS_OUT, np.array([0.3])), 1, ages)
    assert found[0] == 1
    assert here < found[1] < 1
    assert found[2] == pytest.approx(here)
    assert found[3] == pytest.approx(0, abs=1e-12)
    sure = at_risk(by_first_estimate(lives, nobody, WEARS_OUT, np.zeros(1)), 1, ages)
    assert sure.tolist() == [1, 1, 1, 0]


def test_a_part_found_gone_left_when_such_parts_fail() -> None:
    lives = lives_of(1, silent=[False], history=[-1], exit=[100_000], gone_by=[200_000], pace=[0.0])
    nobody = silences_of(lives, YEARLY, 3.0)
    ages = np.array([100_000, 125_000, 150_000, 175_000, 200_000.0])
    found = at_risk(by_first_estimate(lives, nobody, WEARS_OUT, np.zeros(1)), 1, ages)
    survival = WEARS_OUT.survival(ages)
    np.testing.assert_allclose(
        found, (survival - survival[-1]) / (survival[0] - survival[-1]), atol=1e-9
    )
    plain = at_risk(by_visits_alone(lives, nobody), 1, ages)
    assert plain.tolist() == [0, 0, 0, 0, 0]


def test_nothing_leaves_before_the_vehicle_was_last_here() -> None:
    lives = lives_of(1, still_here=1.0)
    silences = silences_of(lives, YEARLY, 3.0)
    left = expected_withdrawals(YEARLY, once_seen(1, 3.0), still_here=1.0)
    np.testing.assert_allclose(
        silences.clock[0], [100_000, *(100_000 + 20_000 * (left.elapsed[0] - 1)), 140_000]
    )
    assert silences.remaining[0] > silences_of(lives_of(1), YEARLY, 3.0).remaining[0]


def test_each_unfailed_life_leaves_just_once() -> None:
    rng, n = np.random.default_rng(2), 200
    kind = rng.integers(0, 4, n)
    lives = lives_of(
        n,
        silent=kind == 0,
        failed=kind == 1,
        history=np.where(kind == 0, np.arange(n), -1),
        gone_by=np.where(kind == 2, 150_000, -1),
        looked=rng.integers(0, 100_001, n),
        pace=rng.uniform(0, 40_000, n),
    )
    silences = silences_of(lives, YEARLY, 4.0)
    for parts in (
        by_visits_alone(lives, silences),
        by_first_estimate(lives, silences, WEARS_OUT, np.full(n, 0.2)),
    ):
        left = np.zeros(n)
        for each in parts:
            np.add.at(left, each.life, each.share)
            assert np.all(each.share > 0)
        np.testing.assert_allclose(left, kind != 1, atol=1e-12)


def test_a_vehicle_that_stands_still_leaves_where_it_was() -> None:
    lives = lives_of(1, pace=[0.0])
    parts = list(by_first_estimate(lives, silences_of(lives, YEARLY, 3.0), WEARS_OUT, np.ones(1)))
    assert {int(clock) for each in parts for clock in each.clock} == {100_000}


def test_first_estimate_is_not_ended_by_a_lone_early_failure() -> None:
    lives = LivesArrays([0, 50, 50], [10, 80, 90], [1, 1, 0])
    first = FirstEstimate.of(RiskTable.from_lives(lives, unit="km"))
    # One among ten, not one among one; then one among ten, not one among two.
    np.testing.assert_allclose(
        first.survival(np.array([0, 5, 10, 50, 80, 200.0])),
        np.exp([0, -0.05, -0.1, -0.1 - 0.1 * 40 / 70, -0.2, -0.2]),
    )


def test_first_estimate_of_nothing_is_one() -> None:
    assert FirstEstimate.of(RiskTable.empty("km")).survival(np.array([5.0])).tolist() == [1.0]

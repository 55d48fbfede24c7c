"""Chances to be still a customer against published data, slow integrals and simulated truth."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import gammaincc
from scipy.stats import gamma

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import visit_fit
from garage.lifetimes.visits.silence import (
    expected_withdrawals,
    share_leaving_between,
    still_customer,
)
from garage.lifetimes.visits.silence_kernel import GapLaw
from tests.lifetimes.conftest import CheckCase
from tests.lifetimes.visits.visit_world import customers

REGULAR = VisitLaw(6.0, 1.0, 2.0, 0.2)
LAWS = [VisitLaw(1.0, 1.0, 2.0, 0.2), REGULAR, VisitLaw(3.0, 1.0, 2.0, 0.3, 1.0)]


def three_vehicles() -> VisitHistories:
    return VisitHistories.from_sums([4, 0, 9], [4.2, 0, 8.0], [7.5, 6.0, 8.4])


def test_published_purchase_data_case(check_case: Callable[[str], CheckCase]) -> None:
    r, alpha, s, beta = 0.553273, 10.577551, 0.606155, 11.666026
    law = VisitLaw(1.0, r / alpha, r, s / beta, s)
    known = VisitHistories.from_sums([2, 1, 0], [30.43, 1.71, 0], [38.86] * 3)
    check_case("SIL-01").holds(
        "P(still a customer at T | x, t_x, T) at r=.553273 alpha=10.577551 s=.606155 "
        "beta=11.666026, for (x, t_x, T) = (2, 30.43, 38.86), (1, 1.71, 38.86), (0, 0, 38.86)",
        still_customer(law, known),
    )


def slow_left_between(vehicle: int, begin: float, end: float) -> tuple[float, float]:
    """Chance to leave in a stretch, silence included, and to stay; `REGULAR`, by integrals."""
    known = three_vehicles()
    law, last = REGULAR, float(known.last_visit[vehicle])
    silence = float(known.silence[vehicle])
    shape = law.rate_shape + law.regularity * float(known.repeats[vehicle])
    scale = 1 / (law.rate_shape / law.visit_rate + law.regularity * last)

    def silent(time: float) -> float:
        return float(
            quad(
                lambda rate: (
                    gammaincc(law.regularity, law.regularity * rate * time)
                    * gamma.pdf(rate, shape, scale=scale)
                ),
                0,
                20,
                epsabs=1e-12,
                limit=200,
            )[0]
        )

    left = quad(lambda u: 0.2 * np.exp(-0.2 * u) * silent(u), begin, end, epsabs=1e-10)[0]
    return float(left), float(np.exp(-0.2 * silence)) * silent(silence)


@pytest.mark.parametrize("vehicle", [0, 1, 2])
def test_share_leaving_equals_a_slow_integral(vehicle: int) -> None:
    known = three_vehicles()
    silence = float(known.silence[vehicle])
    begin, end = 0.2 * silence, 0.7 * silence
    inside, stayed = slow_left_between(vehicle, begin, end)
    everything = slow_left_between(vehicle, 0, silence)[0] + stayed
    begins, ends = 0.2 * known.silence, 0.7 * known.silence
    found = share_leaving_between(REGULAR, known, begins, ends)[vehicle]
    assert found == pytest.approx(inside / everything, abs=1e-7)
    assert still_customer(REGULAR, known)[vehicle] == pytest.approx(stayed / everything, abs=1e-7)


@pytest.mark.parametrize("law", LAWS, ids=str)
def test_withdrawals_are_the_middles_of_equal_shares(law: VisitLaw) -> None:
    known = three_vehicles()
    points = 8
    left = expected_withdrawals(law, known, points=points)
    np.testing.assert_allclose(points * left.share_each + left.remaining, 1, rtol=1e-12)
    np.testing.assert_allclose(left.remaining, still_customer(law, known), atol=1e-8)
    assert np.all(np.diff(left.elapsed, axis=1) > 0)
    for point in range(points):
        by_then = 1 - still_customer(law, known, left.elapsed[:, point])
        goal = (1 - left.remaining) * (point + 0.5) / points
        np.testing.assert_allclose(by_then, goal, atol=0.004)


@pytest.mark.parametrize("law", LAWS, ids=str)
def test_nothing_is_withdrawn_before_a_vehicle_was_here_all_the_same(law: VisitLaw) -> None:
    known, points = three_vehicles(), 8
    since = 0.3 * known.silence
    left = expected_withdrawals(law, known, still_here=since, points=points)
    assert np.all(left.elapsed > since[:, None])
    # By Bayes' rule: those who had left by then are struck out.
    then = still_customer(law, known, since)
    np.testing.assert_allclose(left.remaining, still_customer(law, known) / then, atol=1e-7)
    for point in range(points):
        by_now = 1 - still_customer(law, known, left.elapsed[:, point]) / then
        goal = (1 - left.remaining) * (point + 0.5) / points
        np.testing.assert_allclose(by_now, goal, atol=0.004)
    unspoken = expected_withdrawals(law, known, points=points)
    assert np.all(left.remaining > unspoken.remaining)


def test_a_part_that_ought_to_have_failed_makes_leaving_likelier() -> None:
    known, rate = three_vehicles(), 0.25
    plain = expected_withdrawals(REGULAR, known)

    def constant_rate(times: FloatArray, which: slice) -> FloatArray:
        return np.asarray(np.exp(-rate * times) * (2 + np.arange(3)[which]), np.float64)

    left = expected_withdrawals(REGULAR, known, unfailed=constant_rate)
    for vehicle in range(3):
        silence = float(known.silence[vehicle])
        nodes, steps = np.polynomial.legendre.leggauss(200)
        times = silence * (nodes + 1) / 2
        last = np.full(times.size, known.last_visit[vehicle])
        repeats = np.full(times.size, known.repeats[vehicle])
        alone = VisitHistories.from_sums(repeats, last, last + times)
        outlasts = GapLaw.after(REGULAR, alone).outlasts(times)
        density = 0.2 * np.exp(-(0.2 + rate) * times) * outlasts
        stayed = np.exp(-(0.2 + rate) * silence) * float(
            GapLaw.after(REGULAR, known).outlasts(known.silence)[vehicle]
        )
        gone = float(np.sum(silence / 2 * steps * density))
        assert left.remaining[vehicle] == pytest.approx(stayed / (gone + stayed), abs=1e-6)
    assert np.all(left.remaining < plain.remaining)
    assert np.all(left.elapsed[:, -1] < plain.elapsed[:, -1])


def test_a_failure_on_the_last_day_keeps_the_vehicle_to_the_end() -> None:
    known = three_vehicles()
    left = expected_withdrawals(REGULAR, known, still_here=known.silence)
    np.testing.assert_allclose(left.remaining, 1, rtol=1e-12)
    with pytest.raises(ValueError, match="`still_here` lies between 0 and the silence"):
        expected_withdrawals(REGULAR, known, still_here=known.silence + 0.01)


@pytest.mark.parametrize("law", LAWS, ids=str)
def test_chance_falls_from_one_as_the_silence_runs(law: VisitLaw) -> None:
    known = three_vehicles()
    run = [still_customer(law, known, share * known.silence) for share in np.linspace(0, 1, 9)]
    np.testing.assert_allclose(run[0], 1, rtol=1e-12)
    assert np.all(np.diff(run, axis=0) < 0)
    np.testing.assert_allclose(run[-1], still_customer(law, known), rtol=1e-12)


def test_longer_silence_makes_staying_less_likely_soonest_for_regular_vehicles() -> None:
    def after(regularity: float) -> np.ndarray:
        law = VisitLaw(regularity, 1.0, 50.0, 0.2)
        silences = np.array([0.5, 1.0, 2.0, 4.0])
        return still_customer(
            law, VisitHistories.from_sums([5] * 4, [5.0] * 4, 5 + silences, [0.0] * 4)
        )

    regular, random = after(10.0), after(1.0)
    assert np.all(np.diff(regular) < 0)
    assert np.all(np.diff(random) < 0)
    # Half a gap of silence says nothing of a regular customer; two gaps say nearly all.
    assert regular[0] > random[0]
    assert regular[2] < random[2]


def test_no_leaving_keeps_all_and_a_visit_today_is_certain() -> None:
    nobody = VisitLaw(2.0, 1.0, 2.0, 0.0)
    np.testing.assert_allclose(still_customer(nobody, three_vehicles()), 1, rtol=1e-12)
    left = expected_withdrawals(nobody, three_vehicles())
    np.testing.assert_allclose(left.share_each, 0, atol=1e-15)
    assert np.all(np.isfinite(left.elapsed))
    today = VisitHistories.from_sums([3], [4.0], [4.0])
    assert still_customer(REGULAR, today).tolist() == [1.0]
    at_once = expected_withdrawals(REGULAR, today)
    assert (at_once.remaining.tolist(), at_once.share_each.tolist()) == ([1.0], [0.0])
    np.testing.assert_allclose(at_once.elapsed, 0)


def test_a_very_long_silence_gives_numbers() -> None:
    known = VisitHistories.from_sums([40, 40], [40.0, 40.0], [1e4, 41.0])
    chance = still_customer(VisitLaw(30.0, 1.0, 1_000.0, 0.2), known)
    assert 0 <= chance[0] < 1e-12
    assert 0.5 < chance[1] < 1
    left = expected_withdrawals(VisitLaw(30.0, 1.0, 1_000.0, 0.2), known)
    assert np.all(np.isfinite(left.elapsed))
    # Someone who comes every year left within about a year of the last visit.
    assert np.all(left.elapsed[0] < 1.6)


def test_a_silence_too_unlikely_for_a_number_means_gone_unless_nobody_leaves() -> None:
    known = VisitHistories.from_sums([900], [900.0], [1e9])
    for leaving, stays in ((0.2, 0.0), (0.0, 1.0)):
        law = VisitLaw(30.0, 1.0, 1_000.0, leaving)
        left = expected_withdrawals(law, known, still_here=9e8)
        assert left.remaining.tolist() == [stays]
        assert np.all((left.elapsed >= 9e8) & (left.elapsed <= known.silence))
        assert still_customer(law, known).tolist() == [stays]


def test_gap_law_is_a_law() -> None:
    known = three_vehicles()
    gap = GapLaw.after(VisitLaw(0.7, 1.0, 2.0, 0.2), known)
    end = np.array([3.0, 3.0, 3.0])
    times, weights = gap.nodes(np.full(3, 0.4), end)
    inside = np.sum(weights * gap.density(times), axis=0)
    np.testing.assert_allclose(
        inside, gap.outlasts(np.full(3, 0.4)) - gap.outlasts(end), rtol=0, atol=1e-10
    )


@pytest.mark.parametrize(
    ("begin", "end", "rule"),
    [
        (-0.1, 0.2, "`begin` lies between 0 and the silence"),
        (0.0, 0.5, "`end` lies between 0 and the silence, 0.4"),
        (0.3, 0.2, "begins no later than it ends"),
        (float("nan"), 0.2, "`begin` lies between"),
    ],
)
def test_times_outside_the_silence_are_refused(begin: float, end: float, rule: str) -> None:
    share_leaving_between(REGULAR, three_vehicles(), 0.1, 0.3)
    with pytest.raises(ValueError, match=rule):
        share_leaving_between(REGULAR, three_vehicles(), begin, end)


def test_no_points_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one time"):
        expected_withdrawals(REGULAR, three_vehicles(), points=0)


@pytest.mark.parametrize("regularity", [1.0, 6.0])
@pytest.mark.parametrize("leaving", [0.05, 0.2, 0.4])
@pytest.mark.parametrize("visits", [0.5, 2.0])
def test_chances_of_a_fitted_law_match_who_really_stayed(
    regularity: float, leaving: float, visits: float
) -> None:
    seen = customers(
        VisitLaw(regularity, visits, 2.0, leaving), 3_000, 9, np.random.default_rng(17)
    )
    fit = visit_fit(seen.known)
    assert fit.law is not None
    chance = still_customer(fit.law, seen.known)
    # Among vehicles given like chances, so many really were customers still.
    order = np.argsort(chance)
    for group in np.array_split(order, 5):
        wanted = chance[group].mean()
        # Four binomial errors, and what is not known of the law itself.
        slack = 4 * np.sqrt(wanted * (1 - wanted) / group.size) + 0.04
        assert seen.still[group].mean() == pytest.approx(wanted, abs=slack)
    # And they had left when the model says: watched time as a customer, in all.
    true_time = np.clip(seen.left_at - seen.known.last_visit, 0, seen.known.silence).sum()
    left = expected_withdrawals(fit.law, seen.known)
    time = (left.share_each[:, None] * left.elapsed).sum() + left.remaining @ seen.known.silence
    assert time == pytest.approx(true_time, rel=0.10)


def test_random_visits_forced_on_yearly_services_keep_too_many() -> None:
    seen = customers(VisitLaw(20.0, 1.0, 100.0, 0.1), 3_000, 9, np.random.default_rng(4))
    true = seen.still.mean()
    kept = []
    for regularity in (None, 1.0):
        fit = visit_fit(seen.known, regularity=regularity)
        assert fit.law is not None
        kept.append(still_customer(fit.law, seen.known).mean())
    assert kept[0] == pytest.approx(true, abs=0.02)
    assert kept[1] > true + 0.1

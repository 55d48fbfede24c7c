"""*Expected*: what the visits of an organisation's vehicles make of its silent lives."""

import numpy as np
import pytest

from garage.lifetimes.capture.share import capture_share
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.lifetimes.status import Status
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Curve
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.expected_exits import expected_exits_km
from garage.outcomes.lives import Silence
from garage.outcomes.part_life import GroupKey, GroupLife, group_life
from garage.outcomes.visits import visits_follow
from tests.outcomes.customers import Customers, facts_of
from tests.outcomes.worlds import ALL_SEEN, life, together

LAW = WeibullLaw(2.5, 150_000.0)
AGES_KM = (50_000, 100_000, 120_000)


def world(count: int, **customers: float) -> GroupLives:
    facts, lives = Customers(**customers).with_parts(count, law=LAW)  # type: ignore[arg-type]
    return together(lives, ALL_SEEN, visits_follow(facts, lives))


def made(group: GroupLives) -> GroupLife:
    key = GroupKey("Alder 16", "factory", "together")
    return group_life(key, group, np.random.default_rng(1))


def error(group: GroupLives, curve: Curve) -> list[float]:
    found = product_limit(group.table(curve))
    errors = []
    for km in AGES_KM:
        value = found.at(km).value
        assert value is not None
        errors.append(value - LAW.survival(km))
    return errors


def test_it_comes_nearer_to_the_truth_than_seen_and_presumed_where_customers_leave() -> None:
    group = world(3_000, leaving_a_year=0.25)
    expected, seen, presumed = (np.array(error(group, curve)) for curve in Curve)
    assert np.all(np.abs(expected) < 0.02), expected
    assert np.all(seen < -np.abs(expected))
    assert np.all(presumed > np.abs(expected))
    # Half of the parts have failed by the last of these: standard error below 0.015.
    assert seen[-1] < -0.05
    assert presumed[-1] > 0.05


def test_without_leaving_it_is_nearly_presumed() -> None:
    group = world(1_500, leaving_a_year=0.001)
    expected, _, presumed = (np.array(error(group, curve)) for curve in Curve)
    assert np.all(np.abs(expected - presumed) < 0.005)


def test_failures_are_divided_by_the_capture_share_and_withdrawals_are_fractions() -> None:
    group = world(200)
    half = Captures({1: capture_share(8, 8)})
    table = GroupLives(group.lives, half, group.visits).table(Curve.EXPECTED)
    failed = sum(each.failed for each in group.lives)
    assert table.failed_total == failed
    assert table.corrected.sum() == pytest.approx(failed / half.value(1))
    assert table.withdrawn.sum() == pytest.approx(len(group.lives) - failed)
    assert np.any(table.withdrawn % 1)


def test_a_law_is_fitted_to_the_expected_table() -> None:
    fit = weibull_fit(world(1_500, leaving_a_year=0.25).table(Curve.EXPECTED))
    assert fit.shape is not None
    assert fit.scale is not None
    assert fit.shape.value == pytest.approx(LAW.shape, rel=0.1)
    assert fit.scale.value == pytest.approx(LAW.scale, rel=0.05)


def test_it_comes_first_and_carries_n_interval_and_source() -> None:
    curves = made(world(200)).curves
    assert [each.curve for each in curves] == ["expected", "seen", "presumed"]
    at = {each.at: each.figure for each in curves[0].survival}[100_000]
    assert at.value is not None
    assert at.lower is not None
    assert at.upper is not None
    assert at.lower < at.value < at.upper
    assert at.n == 200
    assert "still customers" in at.source


def test_the_same_generator_gives_the_same_limits() -> None:
    group = world(60)
    assert made(group) == made(group)


# --- without a law of visits there is none, and it says so ---


def test_too_few_vehicles_give_no_curve_but_the_reason() -> None:
    curves = made(world(8)).curves
    expected, seen = curves[0], curves[1]
    figures = [each.figure for each in expected.survival]
    figures += [expected.median_km, expected.weibull.shape, expected.weibull.tenth_failed_km]
    for figure in figures:
        assert figure.value is None
        assert figure.status == Status.FEW_CLUSTERS
        assert "vehicles came again; 20 are needed" in figure.reason
        assert figure.n == 8
    assert expected.drawn == ()
    assert any(each.figure.value is not None for each in seen.survival)


def test_a_group_with_silent_lives_of_an_unjudged_organisation_has_none() -> None:
    facts, lives = Customers().with_parts(100, law=LAW)
    stranger = life(
        10_000,
        vehicle_id=900,
        organisation_id=2,
        presumed_km=50_000,
        silence=Silence(10_000, 800, 50.0),
    )
    few = Customers(seed=2).vehicles(1, first=900, organisation=2)
    visits = visits_follow(facts_of(*facts.vehicles, *few), lives)
    assert visits.without_law([*lives, stranger]) is None  # the law of all in view holds for it
    alone = visits_follow(facts_of(*few), lives)
    assert alone.without_law([stranger]) is not None


# --- the distance at which a life is expected to leave ---


def test_ended_lives_leave_where_they_ended_and_silent_ones_in_between() -> None:
    group = world(200, leaving_a_year=0.25)
    exits_km = expected_exits_km(group.lives, group.visits)
    for each, exit_km in zip(group.lives, exits_km, strict=True):
        if each.silence is None:
            assert exit_km == each.seen_km
        else:
            assert each.seen_km <= exit_km <= each.presumed_km + 1
    silent = [
        (exit_km - each.seen_km) / (each.presumed_km - each.seen_km)
        for each, exit_km in zip(group.lives, exits_km, strict=True)
        if each.silence is not None and each.silence.days > 1_500
    ]
    assert len(silent) > 10
    assert float(np.mean(silent)) < 0.5


def test_without_a_law_silent_lives_leave_at_the_last_job() -> None:
    group = world(8)
    silent = [each for each in group.lives if each.silence is not None]
    assert expected_exits_km(silent, group.visits).tolist() == [each.seen_km for each in silent]

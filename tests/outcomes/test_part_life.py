"""Part life: groups, the two curves, and what stands beside them."""

from datetime import date, timedelta

import numpy as np
import pytest

from garage.lifetimes.capture.share import capture_share
from garage.lifetimes.curves.product_limit import product_limit
from garage.outcomes.capture import Captures, capture_of_failures
from garage.outcomes.choices import Curve, Ending, LifeClass, Stratum
from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.part_life import (
    GroupKey,
    GroupLife,
    group_life,
    lives_by_group,
)
from garage.outcomes.usage import Odometers
from tests.outcomes.histories import History, facts, inspected, replaced
from tests.outcomes.worlds import ALL_SEEN, life, running, together
from tests.records.factories import EngineFamilyFactory, OrganisationFactory

HALF_SEEN = Captures({1: capture_share(8, 8)})
ALDER = "Alder 16"


def strata(*lives: Life) -> list[tuple[str, str, str, int]]:
    return [
        (key.engine_family, key.origin, key.stratum, len(members))
        for key, members in lives_by_group(lives).items()
    ]


# --- groups ---


def test_a_group_is_a_family_and_an_origin() -> None:
    assert strata(life(1), life(1, family="Birch 20"), life(1, origin="cleaned"), life(1)) == [
        (ALDER, "cleaned", Stratum.TOGETHER, 1),
        (ALDER, "factory", Stratum.TOGETHER, 2),
        ("Birch 20", "factory", Stratum.TOGETHER, 1),
    ]


def test_parts_on_arrivals_are_shown_apart_and_together() -> None:
    assert strata(life(1), life(1), life(1, stratum=Stratum.ON_ARRIVALS)) == [
        (ALDER, "factory", Stratum.TOGETHER, 3),
        (ALDER, "factory", Stratum.SEEN_BEFORE_TROUBLE, 2),
        (ALDER, "factory", Stratum.ON_ARRIVALS, 1),
    ]


def test_without_arrivals_the_group_stands_once() -> None:
    assert strata(life(1), life(1)) == [(ALDER, "factory", Stratum.TOGETHER, 2)]


def test_only_used_lives_enter_a_table() -> None:
    left_out = [life(1, life_class=each) for each in LifeClass if each != LifeClass.USED]
    assert strata(*left_out) == []
    assert strata(*left_out, life(1)) == [(ALDER, "factory", Stratum.TOGETHER, 1)]


# --- tables: entered, failed, corrected, withdrawn ---


def test_a_table_counts_who_entered_failed_and_withdrew() -> None:
    members = [life(40_000, failed=True), life(50_000, entry_km=20_000), life(60_000)]
    table = together(members, ALL_SEEN).table(Curve.SEEN)
    assert table.clock.tolist() == [0, 20_000, 40_000, 50_000, 60_000]
    assert table.entered.tolist() == [2, 1, 0, 0, 0]
    assert table.failed.sum(axis=0).tolist() == [0, 0, 1, 0, 0]
    assert table.withdrawn.tolist() == [0, 0, 0, 1, 1]


def test_seen_divides_failures_by_the_capture_share_presumed_does_not() -> None:
    members = [life(40_000, failed=True), life(60_000, presumed_km=90_000)]
    share = HALF_SEEN.value(1)
    assert share < 0.7
    seen = together(members, HALF_SEEN).table(Curve.SEEN)
    presumed = together(members, HALF_SEEN).table(Curve.PRESUMED)
    assert seen.corrected.sum() == pytest.approx(1 / share)
    assert presumed.corrected.sum() == 1
    assert (seen.clock[-1], presumed.clock[-1]) == (60_000, 90_000)


def test_seen_lies_below_presumed_where_vehicles_fall_silent() -> None:
    rng = np.random.default_rng(3)
    members = [
        life(int(km), failed=bool(km < 150_000), presumed_km=max(int(km), 150_000))
        for km in rng.uniform(10_000, 200_000, 60)
    ]
    seen, presumed = (
        product_limit(together(members, HALF_SEEN).table(curve))
        for curve in (Curve.SEEN, Curve.PRESUMED)
    )
    for km in (50_000, 100_000, 140_000):
        below, above = seen.at(km).value, presumed.at(km).value
        assert below is not None
        assert above is not None
        assert below < above


@pytest.mark.django_db
def test_the_tables_of_two_organisations_add_up_to_the_table_of_both() -> None:
    family = EngineFamilyFactory(name=ALDER)
    two = [OrganisationFactory(), OrganisationFactory()]
    for number, organisation in enumerate([two[0], two[1], two[1]]):
        van = History(organisation, engine_family=family, first_used_on="2012-01-01")
        van.service("2015-01-01", 50_000 + number, ops=[inspected("factory")])
        van.job("2018-01-01", 110_000 + 9_000 * number, ops=[replaced("failed")])
        van.service("2019-01-01", 150_000, ops=[inspected(found="same")])

    def table(*organisations: object) -> object:
        read = facts(as_of=date(2020, 1, 1), of=organisations)  # type: ignore[arg-type]
        found = lives_follow(read, Odometers(read))
        used = [each for each in found if each.used]
        return together(used, capture_of_failures(read, found)).table(Curve.SEEN).to_dict()

    assert table(*two) != table(two[0])
    apart = [
        together(used, captures).table(Curve.SEEN)
        for used, captures in (_read(each) for each in two)
    ]
    assert (apart[0] + apart[1]).to_dict() == table(*two)


def _read(organisation: object) -> tuple[list[Life], Captures]:
    read = facts(as_of=date(2020, 1, 1), of=[organisation])  # type: ignore[list-item]
    found = lives_follow(read, Odometers(read))
    return [each for each in found if each.used], capture_of_failures(read, found)


# --- one group's figures ---


def group(members: list[Life], captures: Captures = ALL_SEEN) -> GroupLife:
    key = GroupKey(ALDER, "factory", Stratum.TOGETHER)
    return group_life(key, together(members, captures), np.random.default_rng(1))


def worn(number: int = 30) -> list[Life]:
    """Failures every 10 000 km from 10 000 on, and as many lives still running."""
    return [life(10_000 * (1 + place), failed=True) for place in range(number)] + list(
        running(number, 310_000)
    )


def test_a_group_counts_its_lives_failures_vehicles_and_km() -> None:
    twin = life(30_000, failed=True)
    result = group([twin, life(20_000, vehicle_id=twin.vehicle_id), life(50_000, entry_km=40_000)])
    assert (result.lives, result.failed, result.vehicles) == (3, 1, 2)
    assert result.watched_km == 60_000


def test_the_covered_share_is_the_watched_part_of_what_silent_vehicles_would_have_driven() -> None:
    result = group([life(30_000, presumed_km=90_000), life(30_000)])
    assert result.covered_share == pytest.approx(60_000 / 120_000)


def test_the_curves_agree_where_nobody_is_silent_and_all_is_seen() -> None:
    expected, seen, presumed = (
        [each.figure.value for each in curve.survival] for curve in group(worn()).curves
    )
    assert expected == seen == presumed


def test_survival_is_that_of_the_product_limit_and_carries_n_interval_and_source() -> None:
    seen = group(worn()).curves[0]
    at = {each.at: each.figure for each in seen.survival}
    # 60 at risk, 5 failed by 50 000 km and none left before: 55 / 60.
    assert at[50_000].value == pytest.approx(55 / 60)
    assert (at[50_000].n, at[50_000].failed, at[50_000].status) == (60, 30, "ok")
    assert at[50_000].lower is not None
    assert at[50_000].upper is not None
    assert at[50_000].lower < 55 / 60 < at[50_000].upper
    assert at[50_000].source
    assert seen.median_km.value == 300_000  # the 30th of 60 failed there


def test_a_median_that_is_not_reached_is_none_with_a_reason() -> None:
    median = group([life(10_000, failed=True), *running(30, 300_000)]).curves[0].median_km
    assert (median.value, median.status) == (None, "not_reached")
    assert median.reason


def test_without_failures_there_is_no_law_and_it_says_so() -> None:
    weibull = group(list(running(20, 50_000))).curves[0].weibull
    assert weibull.shape.value is None
    assert weibull.shape.reason


def test_a_law_is_fitted_to_the_same_table() -> None:
    rng = np.random.default_rng(5)
    members = [life(int(km) + 1, failed=True) for km in 200_000 * rng.weibull(2.5, 200)]
    weibull = group(members).curves[0].weibull
    assert (weibull.shape.n, weibull.shape.failed) == (200, 200)
    assert weibull.shape.value == pytest.approx(2.5, abs=0.5)
    assert weibull.scale_km.value == pytest.approx(200_000, rel=0.1)
    assert weibull.tenth_failed_km.value is not None


def test_a_capture_share_below_1_lowers_expected_and_seen_and_leaves_presumed() -> None:
    of_all, of_half = group(worn(), ALL_SEEN).curves, group(worn(), HALF_SEEN).curves
    for whole, half in zip(of_all, of_half, strict=True):
        pairs = [
            (one.figure.value, other.figure.value)
            for one, other in zip(half.survival, whole.survival, strict=True)
            if one.figure.value is not None and other.figure.value is not None
        ]
        assert len(pairs) > 3
        if whole.curve == Curve.PRESUMED:
            assert all(one == other for one, other in pairs)
        else:
            assert all(one < other for one, other in pairs)


def test_repeats_on_one_vehicle_widen_the_interval() -> None:
    members = [life(10_000 * (1 + n % 20), failed=n % 3 == 0) for n in range(60)]
    three_a_vehicle = [
        life(
            each.seen_km,
            failed=each.failed,
            vehicle_id=1_000_000 + (place % 20),
        )
        for place, each in enumerate(members)
    ]
    apart, clustered = (
        group(each).curves[0].survival[3].figure for each in (members, three_a_vehicle)
    )
    assert apart.value == clustered.value
    assert (apart.lower, apart.upper) != (clustered.lower, clustered.upper)


def test_the_drawn_curve_starts_at_1_and_never_rises() -> None:
    drawn = group(worn()).curves[0].drawn
    values = [point.survival for point in drawn if point.survival is not None]
    assert (drawn[0].km, values[0]) == (0, 1.0)
    assert values == sorted(values, reverse=True)


@pytest.mark.django_db
def test_a_vehicle_met_late_never_counts_before() -> None:
    van = History(first_used_on="2010-01-01")
    van.service("2015-01-01", 100_000, ops=[inspected("factory")])
    van.service("2015-01-02", 100_050)
    van.job("2018-01-01", 160_000, ops=[replaced("failed")])
    read = facts(as_of=date(2018, 1, 1) + timedelta(days=1))
    (met, _) = lives_follow(read, Odometers(read))
    assert (met.entry_km, met.ending) == (100_000, Ending.FAILED)
    table = together([met], capture_of_failures(read, [met])).table(Curve.SEEN)
    assert table.at_risk.tolist() == [0, 1]

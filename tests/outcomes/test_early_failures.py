"""Early failures, early repeat failures, and the numbers that a flag states."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import pytest

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.renewal.counts import renewal_count_probability
from garage.outcomes.choices import Ending, LifeClass
from garage.outcomes.early_failures import (
    FALSE_DISCOVERY_LEVEL,
    EarlyFailures,
    FiredBy,
    Flag,
    FlagRule,
    early_failures,
)
from garage.outcomes.lives import Life
from garage.outcomes.normal_life import normal_lives
from garage.records.models import PartKind
from tests.outcomes.histories import filter_kind
from tests.outcomes.worlds import life, running, together
from tests.records.factories import PartKindFactory

pytestmark = pytest.mark.django_db

VAN = 1
MEDIAN_KM = 320_000
#: The catalogue's law of a factory filter: median 320 000 km, shape 2.5.
FACTORY = WeibullLaw(2.5, MEDIAN_KM / np.log(2) ** (1 / 2.5))
#: Of a new original one the factor is 0.75.
REPLACED = WeibullLaw(2.5, 0.75 * MEDIAN_KM / np.log(2) ** (1 / 2.5))


def search(
    lives: Sequence[Life], *, part_kind: PartKind | None = None, margin: float = 0.2
) -> EarlyFailures:
    normal = normal_lives(part_kind or filter_kind(), [1], together(lives))
    return early_failures(lives, normal, {1: margin})


def only_flag(lives: Sequence[Life]) -> Flag:
    (flag,) = search(lives).flags
    return flag


def first(seen_km: int = 5_000, **said: Any) -> Life:
    """The van's factory part, failed after so many km."""
    return life(seen_km, failed=True, **{"vehicle_id": VAN, **said})


def second(start_km: int, seen_km: int, **said: Any) -> Life:
    """A later part of the van, fitted here, failed a year later."""
    told = {
        "vehicle_id": VAN,
        "origin": "new_original",
        "fitted_here": True,
        "start_km": start_km,
        "removed_on": date(2021, 1, 1),
        **said,
    }
    return life(seen_km, failed=True, **told)


# --- an early failure: far short of normal life, among all watched lives ---


def test_a_life_far_short_of_normal_is_an_early_failure() -> None:
    flag = only_flag([first(5_000), *running(20)])
    assert (flag.rule, flag.vehicle_id) == (FlagRule.EARLY_FAILURE, VAN)
    assert flag.fired_by == (FiredBy.LIFE,)
    (early,) = flag.early
    assert (early.length_km, early.normal.median_km) == (5_000, MEDIAN_KM)
    assert early.alone


def test_a_life_of_normal_length_is_none() -> None:
    assert search([first(300_000), *running(20)]).flags == ()


def test_p_is_normal_lifes_chance_of_failing_by_this_length() -> None:
    (early,) = only_flag([first(5_000), *running(20)]).early
    assert early.p == pytest.approx(1 - float(FACTORY.survival(5_000)), rel=1e-9)


def test_a_part_met_late_that_fails_soon_after_is_not_early() -> None:
    assert search([first(250_500, entry_km=250_000), *running(20)]).flags == ()


def test_the_step_up_rule_runs_over_all_watched_lives() -> None:
    # p of 20 000 km is 0.0007: below 5 % of one among 60 lives, not among 600.
    assert 1 - float(FACTORY.survival(20_000)) == pytest.approx(0.0007, abs=0.0001)
    assert len(search([first(20_000), *running(59)]).flags) == 1
    assert search([first(20_000), *running(599)]).flags == ()


def test_parts_not_seen_since_they_were_fitted_are_watched_too() -> None:
    # Had they failed, they would have been seen.
    unseen = list(running(540, 0, presumed_km=30_000))
    assert search([first(20_000), *running(59), *unseen]).flags == ()


def test_lives_that_are_not_used_take_no_part() -> None:
    left_out = list(running(540, 0, life_class=LifeClass.NO_WATCHED_TIME))
    found = search([first(20_000), *running(59), *left_out])
    assert (len(found.flags), found.watched_lives, found.failed_lives) == (1, 60, 1)


@pytest.mark.parametrize(
    "life_class", [LifeClass.ARRIVED_FAILED, LifeClass.ENTERED_IN_TROUBLE, LifeClass.START_UNKNOWN]
)
def test_a_failure_that_is_in_no_table_is_never_early(life_class: LifeClass) -> None:
    assert search([first(5_000, life_class=life_class), *running(20)]).flags == ()


@pytest.mark.parametrize("ending", [Ending.FAILED_BY_OTHER_FAULT, Ending.COUNTED_FAILED])
def test_every_kind_of_failure_can_be_early(ending: Ending) -> None:
    assert len(search([first(5_000, ending=ending), *running(20)]).flags) == 1


@pytest.mark.parametrize("ending", [Ending.REMOVED_UNFAILED, Ending.STILL_IN_PLACE])
def test_what_did_not_fail_is_never_early(ending: Ending) -> None:
    assert search([first(5_000, ending=ending, failed_here=False), *running(20)]).flags == ()


def test_early_is_early_for_the_parts_own_origin() -> None:
    # A cleaned part has 0.42 of the factory part's median: the same length is early for one alone.
    def flagged(origin: str) -> bool:
        return bool(search([first(18_000, origin=origin), *running(59)]).flags)

    assert flagged("factory")
    assert not flagged("cleaned")


def test_the_false_discovery_level_is_5_per_cent() -> None:
    assert search([first(), *running(20)]).level == FALSE_DISCOVERY_LEVEL == 0.05


def test_where_no_normal_life_is_known_nothing_is_early_and_it_says_why() -> None:
    found = search([first(5_000), *running(20)], part_kind=PartKindFactory(normal_life_km=None))
    assert (found.flags, found.watched_lives) == ((), 21)
    assert "no normal life is known" in found.reason


def test_where_nothing_was_watched_it_says_so() -> None:
    found = search([])
    assert (found.flags, found.watched_lives, found.reason) == ((), 0, "no life was watched")


# --- an early repeat failure: with an earlier failure of the same part kind ---


def test_after_an_earlier_failure_it_is_a_repeat() -> None:
    flag = only_flag([first(150_000), second(150_000, 4_000), *running(40)])
    assert flag.rule == FlagRule.EARLY_REPEAT_FAILURE


def test_after_a_part_removed_sound_it_is_not() -> None:
    before = first(150_000, ending=Ending.REMOVED_UNFAILED, failed_here=False)
    flag = only_flag([before, second(150_000, 4_000), *running(40)])
    assert (flag.rule, flag.count) == (FlagRule.EARLY_FAILURE, None)


def test_a_failure_on_another_vehicle_makes_no_repeat() -> None:
    other = first(150_000, vehicle_id=VAN + 10_000_000)
    flag = only_flag([other, second(150_000, 4_000), *running(40)])
    assert flag.rule == FlagRule.EARLY_FAILURE


def test_a_later_failure_makes_the_earlier_one_no_repeat() -> None:
    later = second(5_000, 290_000, removed_on=date(2024, 1, 1))
    flag = only_flag([first(5_000), later, *running(40)])
    assert (flag.rule, [each.length_km for each in flag.early]) == (
        FlagRule.EARLY_FAILURE,
        [5_000],
    )


def test_a_part_that_arrived_failed_makes_it_a_repeat_and_is_named_not_counted() -> None:
    arrived = first(0, life_class=LifeClass.ARRIVED_FAILED, start_km=None)
    flag = only_flag([arrived, second(150_000, 4_000), *running(40)])
    assert (flag.rule, flag.failed_at_arrival) == (FlagRule.EARLY_REPEAT_FAILURE, 1)
    assert flag.count is not None
    # d is counted from the first known fitting.
    assert (flag.count.failures, flag.count.distance_km) == (1, 4_000)


@pytest.mark.parametrize(
    "said",
    [
        {"life_class": LifeClass.START_UNKNOWN, "start_km": None},
        {"life_class": LifeClass.ODOMETER_IN_DOUBT, "start_km": None},
        {"life_class": LifeClass.ENTERED_IN_TROUBLE},
        {"ending": Ending.REMOVAL_KM_NOT_KNOWN},
        {"position": "bank 2"},
    ],
)
def test_an_earlier_failure_without_a_known_length_or_elsewhere_makes_it_a_repeat(
    said: dict[str, Any],
) -> None:
    flag = only_flag([first(150_000, **said), second(150_000, 4_000), *running(40)])
    assert (flag.rule, flag.failed_at_arrival) == (FlagRule.EARLY_REPEAT_FAILURE, 0)
    assert flag.failed_uncounted == 1
    assert flag.count is not None
    assert flag.count.failures == 1


def test_counted_failures_are_not_named_as_uncounted() -> None:
    flag = only_flag([first(150_000), second(150_000, 4_000), *running(40)])
    assert (flag.failed_at_arrival, flag.failed_uncounted, flag.watched_lives) == (0, 0, 2)


# --- k failures in d km, and how likely that is ---


def test_the_flag_states_k_failures_in_d_km_from_the_first_known_fitting() -> None:
    count = only_flag([first(150_000), second(150_000, 4_000), *running(40)]).count
    assert count is not None
    assert (count.failures, count.distance_km) == (2, 154_000)


def test_the_probability_is_that_of_the_normal_renewal_process() -> None:
    count = only_flag([first(150_000), second(150_000, 4_000), *running(40)]).count
    assert count is not None
    assert count.normal == pytest.approx(
        renewal_count_probability(FACTORY, REPLACED, 154_000.0, 2), rel=1e-9
    )
    # At least two by 154 000 km is rarer than one by then, and not below what both parts say.
    assert count.normal < 1 - float(FACTORY.survival(154_000))


def test_a_part_met_late_enters_the_process_at_its_age() -> None:
    met = first(150_000, entry_km=100_000)
    count = only_flag([met, second(150_000, 4_000), *running(40)]).count
    assert count is not None
    assert count.distance_km == 154_000
    assert count.normal == pytest.approx(
        renewal_count_probability(FACTORY, REPLACED, 54_000.0, 2, first_age=100_000.0), rel=1e-9
    )


def test_a_third_failure_is_rarer_still() -> None:
    two = only_flag([first(6_000), second(6_000, 4_000), *running(40)]).count
    third = second(10_000, 3_000, removed_on=date(2022, 1, 1))
    three = only_flag([first(6_000), second(6_000, 4_000), third, *running(40)]).count
    assert two is not None
    assert three is not None
    assert (two.failures, three.failures, three.distance_km) == (2, 3, 13_000)
    assert two.normal is not None
    assert three.normal is not None
    assert three.normal < two.normal


def test_the_chance_within_the_family_is_stated_too() -> None:
    weak = [
        life(int(km) + 1, failed=True, family="Birch 20")
        for km in 60_000 * np.random.default_rng(4).weibull(2.5, 60)
    ]
    healthy = [
        life(int(km) + 1, failed=True)
        for km in 330_000 * np.random.default_rng(5).weibull(2.5, 120)
    ]
    van = [first(6_000, family="Birch 20"), second(6_000, 4_000, family="Birch 20")]
    flags = search([*van, *weak, *healthy]).flags
    count = next(flag.count for flag in flags if flag.vehicle_id == VAN)
    assert count is not None
    assert count.normal is not None
    assert count.family is not None
    # What is next to impossible by normal life is less so in a family that fails early.
    assert count.normal < count.family


# --- order and verdict ---


def test_repeat_failures_come_first_and_the_rarest_before_the_others() -> None:
    lives = [
        first(5_000),
        first(4_000, vehicle_id=2),
        second(4_000, 3_000, vehicle_id=2),
        first(140_000, vehicle_id=3),
        second(140_000, 3_000, vehicle_id=3),
        *running(40),
    ]
    assert [flag.vehicle_id for flag in search(lives).flags] == [2, 3, VAN]


def test_order_of_the_lives_does_not_matter() -> None:
    lives = [first(5_000), first(4_000, vehicle_id=2), second(4_000, 3_000, vehicle_id=2)]
    lives += running(40)

    def told(found: EarlyFailures) -> list[tuple[int, str, float]]:
        return [
            (flag.vehicle_id, flag.rule, round(sum(each.p for each in flag.early), 12))
            for flag in found.flags
        ]

    assert told(search(lives)) == told(search(lives[::-1]))


def test_the_verdict_is_four_shares_that_add_up_with_what_they_rest_on() -> None:
    verdict = only_flag([first(5_000), *running(60)]).verdict
    shares = (verdict.vehicle, verdict.repair, verdict.design, verdict.chance)
    assert all(share is not None for share in shares)
    assert sum(share or 0.0 for share in shares) == pytest.approx(1)
    assert verdict.basis is not None


def test_a_cause_is_named_only_where_it_leads_by_the_organisations_margin() -> None:
    lives = [first(5_000), *running(60)]
    named = search(lives, margin=0.0).flags[0].verdict
    silent = search(lives, margin=1.0).flags[0].verdict
    assert named.leader is not None
    assert (silent.leader, silent.margin) == (None, 1.0)
    assert (named.vehicle, named.chance) == (silent.vehicle, silent.chance)

"""What people decided binds the judgement; replaced instruments; the trace; standing still."""

from datetime import date, timedelta

import pytest

from garage.records.choices import Doubt, Remark, ResolvedAs
from garage.records.odometers.judging import history_judge
from garage.records.odometers.readings import (
    History,
    Judgement,
    Reading,
    Replacement,
    Resolution,
)
from garage.records.odometers.trace import (
    BACKWARDS_SLACK_KM,
    HARD_PACE_KM_PER_DAY,
    SOFT_PACE_KM_PER_DAY,
    SOFT_PACE_TIMES_OWN,
    leaves_trace,
)


def yearly(*km: int, at_job: bool = False) -> list[Reading]:
    return [Reading(date(2014 + at, 1, 1), each, "km", at_job) for at, each in enumerate(km)]


def decided(
    readings: list[Reading], decisions: dict[int, Resolution], *replacements: Replacement
) -> list[Judgement]:
    resolutions = [decisions.get(place) for place in range(len(readings))]
    return history_judge(History(readings, replacements=replacements, resolutions=resolutions))


def doubts(found: list[Judgement]) -> list[Doubt | None]:
    return [each.doubt for each in found]


# --- what people decided ---

SPIKE = yearly(30_000, 45_000, 600_000, 75_000, 90_000)


def test_a_reading_a_person_lets_stand_stands_and_its_contradictions_do_not() -> None:
    assert doubts(decided(SPIKE, {}))[2] is not None
    found = decided(SPIKE, {2: Resolution(ResolvedAs.STANDS)})
    assert found[2].doubt is None
    assert found[3].doubt is not None
    assert found[4].doubt is not None


def test_both_of_two_that_people_let_stand_stand_although_they_contradict() -> None:
    both = {0: Resolution(ResolvedAs.STANDS), 1: Resolution(ResolvedAs.STANDS)}
    assert doubts(decided(yearly(60_000, 48_123), both)) == [None, None]


def test_one_of_two_resolved_settles_the_other() -> None:
    pair = yearly(60_000, 48_123)
    assert doubts(decided(pair, {})) == [Doubt.ONE_OF_SEVERAL] * 2
    first = doubts(decided(pair, {0: Resolution(ResolvedAs.STANDS)}))
    assert first[0] is None
    assert first[1] not in (None, Doubt.ONE_OF_SEVERAL)
    second = doubts(decided(pair, {1: Resolution(ResolvedAs.STANDS)}))
    assert second[0] not in (None, Doubt.ONE_OF_SEVERAL)
    assert second[1] is None


def test_a_reading_set_aside_bears_on_no_other() -> None:
    pair = yearly(60_000, 48_123)
    found = decided(pair, {0: Resolution(ResolvedAs.SET_ASIDE)})
    assert doubts(found) == [Doubt.SET_ASIDE, None]
    assert found[0].reason == "set aside by a person"


def test_a_mended_value_is_the_distance_from_then_on() -> None:
    found = decided(SPIKE, {2: Resolution(ResolvedAs.MENDED, typed=60_000)})
    assert doubts(found) == [None] * 5
    assert [each.km for each in found] == [30_000, 45_000, 60_000, 75_000, 90_000]


def test_a_mended_unit_is_turned_into_km_exactly() -> None:
    readings = yearly(60_000, 75_000, 55_923, 105_000)
    assert doubts(decided(readings, {}))[2] == Doubt.WRONG_UNIT
    found = decided(readings, {2: Resolution(ResolvedAs.MENDED, unit="mi")})
    # 55 923 miles are 89 999.3 km.
    assert (found[2].doubt, found[2].km) == (None, 89_999)


def test_a_mended_day_moves_the_reading_among_the_others() -> None:
    readings = yearly(60_000, 75_000, 90_000, 105_000, 120_000)
    readings[1] = Reading(date(2017, 6, 1), 75_000)  # is of 2015
    assert doubts(decided(readings, {}))[1] is not None
    mended = Resolution(ResolvedAs.MENDED, read_on=date(2015, 6, 1))
    found = decided(readings, {1: mended})
    assert doubts(found) == [None] * 5
    assert found[1].read_on == date(2015, 6, 1)


def test_resolutions_are_one_a_reading() -> None:
    with pytest.raises(ValueError, match="one resolution a reading"):
        history_judge(History(SPIKE, resolutions=[None]))


# --- replaced instruments ---

REPLACED = yearly(115_000, 130_000, 145_000, 4_000, 19_000, 34_000)


def test_an_instrument_that_goes_on_from_a_lower_value_is_named() -> None:
    found = decided(REPLACED, {})
    assert doubts(found) == [None] * 3 + [Doubt.CLUSTER_REPLACED] * 3
    likeliest = found[3].explanations[0]
    assert likeliest.kind == Doubt.CLUSTER_REPLACED
    assert likeliest.km == pytest.approx(160_000, rel=0.05)


def test_a_documented_replacement_mends_all_readings_after_it() -> None:
    found = decided(REPLACED, {}, Replacement(date(2016, 10, 1), 156_000))
    assert doubts(found) == [None] * 6
    assert [each.km for each in found][3:] == [160_000, 175_000, 190_000]


def test_the_offset_in_force_is_that_of_the_last_replacement_on_or_before_the_day() -> None:
    readings = [Reading(date(2020, 1, day), 1_000) for day in (1, 2, 3)]
    both = (Replacement(date(2020, 1, 3), 70), Replacement(date(2020, 1, 2), 50))
    assert [each.km for each in decided(readings, {}, *both)] == [1_000, 1_050, 1_070]


def test_readings_in_the_wrong_unit_from_some_day_on_are_told_from_a_replaced_instrument() -> None:
    # 105 000, 120 000 and 135 185 km, in miles typed as km.
    found = decided(yearly(60_000, 75_000, 90_000, 65_244, 74_565, 84_000), {})
    assert doubts(found) == [None] * 3 + [Doubt.WRONG_UNIT] * 3
    assert found[5].explanations[0].km == 135_185


def test_two_faults_far_apart_in_a_long_history_are_set_aside_alone() -> None:
    monthly = [
        Reading(date(2014 + at // 12, 1 + at % 12, 7), 10_000 + 2_500 * at) for at in range(120)
    ]
    assert doubts(decided(monthly, {})) == [None] * 120
    for at, km in ((30, 58_123), (90, 2_350_000)):
        monthly[at] = Reading(monthly[at].read_on, km)
    found = doubts(decided(monthly, {}))
    assert [at for at, doubt in enumerate(found) if doubt is not None] == [30, 90]


def test_an_instrument_replaced_late_in_a_long_history_is_named() -> None:
    monthly = [
        Reading(date(2014 + at // 12, 1 + at % 12, 7), 10_000 + 2_500 * at - 180_000 * (at >= 80))
        for at in range(120)
    ]
    found = doubts(decided(monthly, {}))
    assert found == [None] * 80 + [Doubt.CLUSTER_REPLACED] * 40


# --- what else a doubt says ---


def test_a_unit_explanation_says_the_mended_distance() -> None:
    found = decided(yearly(110_000, 125_000, 86_200, 152_000), {})
    likeliest = found[2].explanations[0]
    assert (likeliest.kind, likeliest.km, likeliest.unit) == (Doubt.WRONG_UNIT, 138_725, "mi")
    assert likeliest.words == "86 200 mi typed as km: 138 725 km"
    assert found[2].reason.endswith("; likeliest: 86 200 mi typed as km: 138 725 km")


def test_a_wrong_day_is_named_with_the_day_that_fits() -> None:
    readings = [Reading(date(2016, 1, 5) + timedelta(days=60 * at), 3_000 * at) for at in range(12)]
    assert doubts(decided(readings, {})) == [None] * 12
    # The reading of the 4th of April 2017, a year early.
    assert (readings[7].read_on, readings[7].typed) == (date(2017, 2, 28), 21_000)
    readings[7] = Reading(date(2016, 2, 28), 21_000)
    found = decided(readings, {})
    assert doubts(found)[7] == Doubt.WRONG_DATE
    assert found[7].explanations[0].read_on == date(2017, 2, 28)
    assert doubts(found).count(None) == 11


# --- the trace ---


def test_a_pace_is_a_trace_only_far_above_the_vehicles_own() -> None:
    own = 50
    times = SOFT_PACE_TIMES_OWN
    days = [0, 99, 199 - 1, 208 - 1]
    base = [0, own * 100, own * 200]

    def traced(pace: float, own_times: float = 1.0) -> bool:
        km = [*base, base[-1] + round(pace * 10)]
        return leaves_trace(days, [round(each * own_times) for each in km])

    assert not traced(SOFT_PACE_KM_PER_DAY)
    assert traced(SOFT_PACE_KM_PER_DAY + 1)
    # The same stretch on a vehicle of three times the pace.
    assert 3 * own * times > SOFT_PACE_KM_PER_DAY + 10
    fast = [each * 3 for each in base]
    assert not leaves_trace(days, [*fast, fast[-1] + 10 * (SOFT_PACE_KM_PER_DAY + 10)])


def test_falls_and_impossible_paces_are_traces_beyond_their_limits() -> None:
    assert not leaves_trace([0, 9], [100_000, 100_000 - BACKWARDS_SLACK_KM])
    assert leaves_trace([0, 9], [100_000, 100_000 - BACKWARDS_SLACK_KM - 1])
    assert not leaves_trace([0, 9], [0, 10 * HARD_PACE_KM_PER_DAY])
    assert leaves_trace([0, 9], [0, 10 * HARD_PACE_KM_PER_DAY + 1])
    assert not leaves_trace([9], [10 * HARD_PACE_KM_PER_DAY], 0)
    assert leaves_trace([9], [10 * HARD_PACE_KM_PER_DAY + 1], 0)


# --- standing still ---


def test_a_vehicle_that_shows_no_distance_between_far_jobs_is_worth_a_look() -> None:
    found = decided(yearly(30_000, 45_000, 45_020, 60_000, at_job=True), {})
    assert doubts(found) == [None] * 4
    assert [each.remark for each in found] == [None, None, Remark.STANDSTILL, None]


def test_standing_still_without_jobs_or_not_for_long_or_like_always_is_no_remark() -> None:
    driven = (30_000, 45_000, 45_020, 60_000)
    assert {each.remark for each in decided(yearly(*driven), {})} == {None}
    soon = yearly(*driven, at_job=True)
    soon[2] = Reading(date(2015, 12, 31), 45_020, "km", True)
    assert {each.remark for each in decided(soon, {})} == {None}
    soon[2] = Reading(date(2016, 1, 1), 45_020 + 31, "km", True)
    assert {each.remark for each in decided(soon, {})} == {None}
    hardly = yearly(30_000, 30_500, 30_520, 31_000, at_job=True)
    assert {each.remark for each in decided(hardly, {})} == {None}

"""Which odometer readings stand, which are in doubt, and under what name."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from garage.records.choices import Doubt
from garage.records.odometers.judging import history_judge, stands_as_typed
from garage.records.odometers.readings import History, Judgement, Reading
from garage.records.odometers.trace import (
    BACKWARDS_SLACK_KM,
    HARD_PACE_KM_PER_DAY,
    SOFT_PACE_KM_PER_DAY,
)

START = date(2016, 1, 1)


def yearly(*km: int) -> list[Reading]:
    """Readings on the same day of successive years."""
    return [Reading(date(2016 + year, 1, 1), each) for year, each in enumerate(km)]


def readings_judge(
    readings: list[Reading], *, first_used_on: date | None = None
) -> list[Judgement]:
    return history_judge(History(readings, first_used_on))


def doubts(readings: list[Reading], *, first_used_on: date | None = None) -> list[Doubt | None]:
    judgements = readings_judge(readings, first_used_on=first_used_on)
    # A doubt always says why; a reading that stands has nothing to explain.
    assert all(bool(judgement.reason) is (judgement.doubt is not None) for judgement in judgements)
    return [judgement.doubt for judgement in judgements]


def test_no_readings_no_verdicts() -> None:
    assert readings_judge([]) == []


def test_one_reading_stands() -> None:
    assert readings_judge(yearly(999_999)) == [Judgement(None, "", 999_999, START)]


def test_plausible_history_stands() -> None:
    assert doubts(yearly(10, 15_000, 30_000, 30_000, 45_000)) == [None] * 5


# --- each kind of doubt, beside the same history without the fault ---


def test_a_reading_lower_than_those_before_it() -> None:
    assert doubts(yearly(60_000, 75_000, 90_000, 105_000, 120_000))[3] is None
    found = readings_judge(yearly(60_000, 75_000, 90_000, 51_377, 120_000))
    assert [judgement.doubt for judgement in found] == [None, None, None, Doubt.BACKWARDS, None]
    assert found[3].reason == "51 377 km is read between 90 000 km and 120 000 km"


def test_a_small_step_back_is_no_doubt() -> None:
    sound = yearly(60_000, 75_000, 75_000 - BACKWARDS_SLACK_KM, 90_000)
    assert doubts(sound) == [None] * 4
    one_more = yearly(60_000, 75_000, 75_000 - BACKWARDS_SLACK_KM - 1, 90_000)
    assert sum(doubt is not None for doubt in doubts(one_more)) == 1


# 90 000 km are 55 923 miles; 90 000 miles are 144 841 km (1.609 344 km to the mile, exactly).
@pytest.mark.parametrize("mixed_up", [55_923, 144_841])
@pytest.mark.parametrize("at", [0, 2, 4])
def test_miles_taken_for_km_or_km_for_miles(mixed_up: int, at: int) -> None:
    history = [90_000 + 15_000 * (year - at) for year in range(5)]
    assert doubts(yearly(*history)) == [None] * 5
    history[at] = mixed_up
    found = doubts(yearly(*history))
    if at == 4 and mixed_up > 90_000:
        # The newest reading, too high: nothing contradicts it yet.
        assert found == [None] * 5
    elif at == 0 and mixed_up < 90_000:
        # The oldest one, too low: nothing contradicts it either.
        assert found == [None] * 5
    elif at == 0:
        # Or the instrument was replaced after the oldest one, and the next shows that.
        assert found == [Doubt.ONE_OF_SEVERAL, Doubt.ONE_OF_SEVERAL, None, None, None]
    else:
        assert found[at] == Doubt.WRONG_UNIT
        assert [doubt for i, doubt in enumerate(found) if i != at] == [None] * 4


@pytest.mark.parametrize(
    ("slipped", "name"),
    [
        (9_123, Doubt.WRONG_DIGIT),  # one missing: at the end or before it
        (19_123, Doubt.WRONG_DIGIT),
        (71_123, Doubt.WRONG_DIGIT),  # one mistyped
        (911_230, Doubt.TENTHS),
        (191_123, Doubt.WRONG_DIGIT),  # one too many in front
    ],
)
def test_a_figure_dropped_added_or_mistyped(slipped: int, name: Doubt) -> None:
    sound = yearly(61_000, 76_000, 91_123, 106_000, 121_000)
    assert doubts(sound) == [None] * 5
    sound[2] = Reading(sound[2].read_on, slipped)
    assert doubts(sound) == [None, None, name, None, None]


def test_two_digits_exchanged() -> None:
    assert doubts(yearly(61_000, 76_000, 91_123, 106_000)) == [None] * 4
    assert doubts(yearly(61_000, 76_000, 19_123, 106_000)) == [None, None, Doubt.WRONG_DIGIT, None]


def test_an_impossible_pace() -> None:
    def two(days: int) -> list[Reading]:
        later = START + timedelta(days=days)
        return [Reading(START, 100_000), Reading(later, 100_000 + 10 * HARD_PACE_KM_PER_DAY)]

    # Ten days' distance at the limit; both days count, so nine days between are enough.
    assert doubts(two(days=9)) == [None, None]
    # Which of two is the wrong one, two readings alone do not tell.
    assert doubts(two(days=8)) == [Doubt.ONE_OF_SEVERAL] * 2
    before = [
        Reading(START - timedelta(days=365 * year), 100_000 - 15_000 * year) for year in (2, 1)
    ]
    found = readings_judge([*before, *two(days=8)])
    # Its distance would do on a later day; else nothing mends it.
    assert [judgement.doubt for judgement in found] == [None, None, None, Doubt.WRONG_DATE]
    assert found[3].reason.startswith("112 000 km is read after 100 000 km")
    assert Doubt.IMPOSSIBLE_PACE in [each.kind for each in found[3].explanations]


def test_a_reading_before_first_use() -> None:
    readings = yearly(0, 15_000, 30_000)
    assert doubts(readings, first_used_on=date(2016, 1, 1)) == [None] * 3
    found = readings_judge(readings, first_used_on=date(2016, 1, 2))
    assert [judgement.doubt for judgement in found] == [Doubt.BEFORE_FIRST_USE, None, None]
    assert found[0].reason == "read on 2016-01-01, but the vehicle was first used on 2016-01-02"


def test_more_distance_than_the_days_since_first_use_allow() -> None:
    reading = [Reading(START, 30 * HARD_PACE_KM_PER_DAY)]
    assert doubts(reading, first_used_on=START - timedelta(days=29)) == [None]
    assert doubts(reading, first_used_on=START - timedelta(days=28)) == [Doubt.IMPOSSIBLE_PACE]


def test_all_readings_impossible_since_first_use() -> None:
    readings = [Reading(START, 90_000), Reading(START + timedelta(days=1), 90_100)]
    assert doubts(readings, first_used_on=START) == [Doubt.IMPOSSIBLE_PACE] * 2


# --- one wrong reading never condemns the good ones after it ---


@pytest.mark.parametrize("at", range(8))
@pytest.mark.parametrize("wrong", [0, 999_999, 5_000_000])
def test_one_wrong_reading_is_set_aside_alone(at: int, wrong: int) -> None:
    history = [20_000 + 15_000 * year for year in range(8)]
    history[at] = wrong
    found = doubts(yearly(*history))
    others = [doubt for i, doubt in enumerate(found) if i != at]
    if found[at] == Doubt.ONE_OF_SEVERAL:
        # The first alone may also be from before the instrument was replaced.
        assert at == 0
        assert others == [Doubt.ONE_OF_SEVERAL] + [None] * 6
    else:
        assert others == [None] * 7
    # Zero at the beginning is what a new vehicle reads.
    assert (found[at] is None) is (at == 0 and wrong == 0)


def test_one_good_reading_after_a_wrong_one_is_enough_where_the_pace_is_known() -> None:
    # Either of the last two could be the wrong one; the one at the vehicle's usual pace stands.
    found = doubts(yearly(15_000, 30_000, 45_000, 187_700, 75_000))
    assert found[:3] == [None] * 3
    assert found[3] is not None
    assert found[4] is None


def test_of_two_readings_alone_neither_is_condemned_silently() -> None:
    found = readings_judge(yearly(60_000, 48_123))
    assert [each.doubt for each in found] == [Doubt.ONE_OF_SEVERAL] * 2
    assert [each.partners for each in found] == [(1,), (0,)]
    assert found[0].reason == (
        "this or the reading of 2017-01-01 (48 123 km) is wrong; which cannot be told"
    )
    for each in found:
        # That it is right itself is among what is weighed.
        assert None in [explanation.kind for explanation in each.explanations]


def test_two_readings_of_one_day_are_taken_in_either_order() -> None:
    assert doubts([Reading(START, 50_900), Reading(START, 50_000)]) == [None, None]


def test_a_rare_pace_is_no_doubt_but_loses_to_a_calm_one() -> None:
    fast = SOFT_PACE_KM_PER_DAY * 11 + 1
    readings = [Reading(START, 10_000), Reading(START + timedelta(days=10), 10_000 + fast)]
    assert doubts(readings) == [None, None]
    # Readings that leave only one of the two: the calm one stands.
    calm = [
        Reading(START + timedelta(days=20 + 30 * month), 12_000 + 900 * month) for month in range(4)
    ]
    found = doubts([*readings, *calm])
    assert [doubt is None for doubt in found] == [True, False, True, True, True, True]


def test_verdicts_come_in_the_order_given() -> None:
    history = yearly(60_000, 75_000, 90_000, 9_999_999, 120_000, 135_000)
    backwards = list(reversed(history))
    assert doubts(backwards) == list(reversed(doubts(history)))


# --- laws ---

calm_steps = st.lists(st.tuples(st.integers(0, 400), st.floats(0.0, 1.0)), min_size=1, max_size=30)


def calm_history(steps: list[tuple[int, float]], *, from_km: int) -> list[Reading]:
    """A history that never goes back and never passes the rare pace."""
    readings = [Reading(START, from_km)]
    for days, share in steps:
        last = readings[-1]
        km = int(share * SOFT_PACE_KM_PER_DAY * days)
        readings.append(Reading(last.read_on + timedelta(days=days), last.typed + km))
    return readings


@given(calm_steps, st.integers(0, 500_000))
def test_every_calm_history_stands(steps: list[tuple[int, float]], from_km: int) -> None:
    assert set(doubts(calm_history(steps, from_km=from_km))) == {None}


@given(calm_steps, st.data())
def test_one_wrong_reading_that_two_others_contradict_is_found(
    steps: list[tuple[int, float]], data: st.DataObject
) -> None:
    """Below the two before it or above the two after it, on a vehicle of any calm ways."""
    history = calm_history([(days + 1, share) for days, share in steps], from_km=200_000)
    assume(len(history) > 2)
    at = data.draw(st.integers(0, len(history) - 1))
    if at >= 2:
        wrong = data.draw(st.integers(0, history[at - 2].typed - CLEAR_KM))
    else:
        assume(at + 2 < len(history))
        wrong = data.draw(st.integers(history[at + 2].typed + CLEAR_KM, 5_000_000))
    spoilt = list(history)
    spoilt[at] = Reading(history[at].read_on, wrong)
    found = readings_judge(spoilt)
    assert any(each.doubt is not None for each in found)
    assert_standing_can_all_be_true(spoilt, found)


#: More than the small steps back that a chain of thirty readings could add up to.
CLEAR_KM = 31 * BACKWARDS_SLACK_KM

any_readings = st.lists(
    st.builds(
        lambda days, km: Reading(START + timedelta(days=days), km),
        st.integers(0, 3_000),
        st.integers(0, 400_000),
    ),
    min_size=1,
    max_size=12,
)


def assert_standing_can_all_be_true(readings: list[Reading], found: list[Judgement]) -> None:
    standing = [(each.read_on, each.km) for each in found if each.doubt is None]
    for first, second in pairwise(sorted(standing)):
        days = (second[0] - first[0]).days + 1
        assert -BACKWARDS_SLACK_KM <= second[1] - first[1] <= HARD_PACE_KM_PER_DAY * days


#: Two that contradict part the pairs around them, and 60 and 9 km contradict each other too.
PARTED_BY_A_PAIR = [
    Reading(START + timedelta(days=days), km)
    for days, km in [(0, 0), (0, 60), (333, 2_500), (676, 0), (771, 9)]
]


@given(any_readings)
@example(PARTED_BY_A_PAIR)
def test_what_stands_can_all_be_true(readings: list[Reading]) -> None:
    assert_standing_can_all_be_true(readings, readings_judge(readings))


@given(any_readings)
def test_the_explanations_of_a_doubt_add_to_one_the_likeliest_first(
    readings: list[Reading],
) -> None:
    for each in readings_judge(readings):
        weights = [explanation.weight for explanation in each.explanations]
        assert (weights == []) is (each.doubt is None)
        if weights:
            assert sum(weights) == pytest.approx(1.0)
            assert weights == sorted(weights, reverse=True)
            assert min(weights) >= 0


@given(any_readings)
def test_partners_name_each_other(readings: list[Reading]) -> None:
    found = readings_judge(readings)
    for place, each in enumerate(found):
        assert (each.partners != ()) is (each.doubt == Doubt.ONE_OF_SEVERAL)
        assert all(place in found[other].partners for other in each.partners)


@given(any_readings, st.sets(st.integers(0, 11)), st.none() | st.integers(-400, 3_000))
def test_the_quick_look_lets_stand_what_the_judgement_lets_stand(
    readings: list[Reading], at_jobs: set[int], used_after: int | None
) -> None:
    told = [
        Reading(each.read_on, each.typed, each.unit, place in at_jobs)
        for place, each in enumerate(readings)
    ]
    told.sort(key=lambda each: (each.read_on, each.typed))
    first = None if used_after is None else START + timedelta(days=used_after)
    quick = stands_as_typed(
        [each.read_on.toordinal() for each in told],
        [int(each.typed) for each in told],
        [each.at_job for each in told],
        None if first is None else first.toordinal(),
    )
    found = history_judge(History(told, first_used_on=first))
    plain = all(each.doubt is None and each.remark is None for each in found)
    assert plain or not quick


def test_the_quick_look_passes_a_clean_history_and_no_other() -> None:
    days, at_job = [0, 400, 800], [True, True, True]
    assert stands_as_typed(days, [10_000, 20_000, 30_000], at_job, -99)
    assert not stands_as_typed(days, [10_000, 9_000, 30_000], at_job, -99)
    # Standing still between jobs is no doubt, but a remark.
    assert not stands_as_typed(days, [10_000, 10_010, 30_000], at_job, -99)
    assert not stands_as_typed(days, [10_000, 20_000, 30_000], at_job, 1)

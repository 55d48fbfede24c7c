"""Resets of fault memory: each guard with one fault at a time."""

from dataclasses import replace

import pytest

from garage.evidence.codes.resets import (
    DEFAULTS,
    INNOCENT,
    ResetSign,
    Sign,
    VisitCounts,
    Work,
    recently_cleared,
    reset_between,
    resets_told,
)
from garage.evidence.thresholds import Override

RECENT = VisitCounts(since_clear_km=199.0, warm_ups=19, monitors_incomplete=True)
EARLIER = VisitCounts(odometer_km=100_000.0, odometer_trusted=True)
# 10 000 km driven: the slack is 5 km and 1.5 %, 155 km, so 9 845 km since a clear just agrees.
LATER = VisitCounts(odometer_km=110_000.0, odometer_trusted=True, since_clear_km=9_844.0)


def test_recent_clear_is_shown_with_innocent_causes() -> None:
    sign = recently_cleared(RECENT)
    assert (sign.sign, sign.innocent) == (Sign.SHOWN, INNOCENT)


@pytest.mark.parametrize(
    "change", [{"since_clear_km": 200.0}, {"warm_ups": 20}, {"monitors_incomplete": False}]
)
def test_recent_clear_needs_all_three(change: dict[str, float]) -> None:
    assert recently_cleared(replace(RECENT, **change)).sign is Sign.NOT_SHOWN


@pytest.mark.parametrize("name", ["since_clear_km", "warm_ups", "monitors_incomplete"])
def test_recent_clear_cannot_be_told_without(name: str) -> None:
    assert recently_cleared(replace(RECENT, **{name: None})).sign is Sign.CANNOT_BE_TOLD


def test_one_count_that_is_high_settles_a_recent_clear() -> None:
    assert recently_cleared(VisitCounts(since_clear_km=200.0)).sign is Sign.NOT_SHOWN
    assert recently_cleared(VisitCounts(since_clear_km=199.0)).sign is Sign.CANNOT_BE_TOLD


def test_recent_clear_on_record_is_not_asked_after() -> None:
    known = recently_cleared(RECENT, recorded=frozenset({Work.CLEAR}))
    assert "Ask" not in known.ask_next
    assert "Ask" in recently_cleared(RECENT, recorded=frozenset({Work.REPAIR})).ask_next


def test_reset_beyond_the_slack_is_unexplained_and_within_it_not_shown() -> None:
    sign = reset_between(EARLIER, LATER)
    assert (sign.sign, sign.innocent) == (Sign.SHOWN, INNOCENT)
    assert sign.words.startswith("unexplained")
    assert [each.value for each in sign.numbers] == [10_000.0, 9_844.0, 155.0]
    within = replace(LATER, since_clear_km=9_845.0)
    assert reset_between(EARLIER, within).sign is Sign.NOT_SHOWN


@pytest.mark.parametrize(
    ("work", "begins"),
    [
        (Work.CLEAR, "reset, as work on record explains"),
        (Work.REPROGRAMMING, "reset, as work on record explains"),
        (Work.BATTERY, "reset, as work on record explains"),
        (Work.CONTROLLER, "reset, as work on record explains"),
        (Work.REPAIR, "reset, likely after the repair"),
    ],
)
def test_reset_with_work_on_record_is_explained(work: Work, begins: str) -> None:
    sign = reset_between(EARLIER, LATER, frozenset({work}))
    assert sign.sign is Sign.SHOWN
    assert sign.words.startswith(begins)
    assert bool(sign.ask_next) == (work is Work.REPAIR)


@pytest.mark.parametrize(
    "change",
    [
        {"odometer_km": None},
        {"odometer_trusted": False},
        {"odometer_km": 99_999.0},
        {"since_clear_km": None},
    ],
)
def test_reset_cannot_be_told(change: dict[str, float | None]) -> None:
    later = replace(LATER, **change)
    assert reset_between(EARLIER, later).sign is Sign.CANNOT_BE_TOLD


@pytest.mark.parametrize("change", [{"odometer_km": None}, {"odometer_trusted": False}])
def test_reset_cannot_be_told_from_an_earlier_visit_without(
    change: dict[str, float | None],
) -> None:
    assert reset_between(EARLIER, LATER).sign is Sign.SHOWN
    assert reset_between(replace(EARLIER, **change), LATER).sign is Sign.CANNOT_BE_TOLD


def test_reset_cannot_be_told_without_an_earlier_visit() -> None:
    assert reset_between(None, LATER).sign is Sign.CANNOT_BE_TOLD


@pytest.mark.parametrize(
    ("driven_km", "since_km", "sign"),
    [
        (65_535.0, 65_535.0, Sign.NOT_SHOWN),
        (65_536.0, 65_535.0, Sign.CANNOT_BE_TOLD),
        (70_000.0, 65_534.0, Sign.SHOWN),
    ],
)
def test_counter_at_its_end_is_only_at_least(driven_km: float, since_km: float, sign: Sign) -> None:
    later = replace(LATER, odometer_km=100_000.0 + driven_km, since_clear_km=since_km)
    told = reset_between(EARLIER, later)
    assert told.sign is sign
    assert ("at least" in told.words) == (since_km == 65_535.0)


def test_all_rules_are_told_once_whatever_was_read() -> None:
    nothing = resets_told(None, VisitCounts())
    assert {each.sign for each in nothing} == {Sign.CANNOT_BE_TOLD}
    assert len({each.rule for each in nothing}) == len(nothing) == 8
    assert all(each.words for each in nothing)


def test_rules_are_told_with_what_is_on_record_and_the_limits_given() -> None:
    earlier = replace(EARLIER, burn_interval_km=500.0)
    later = replace(LATER, burn_interval_km=300.0)
    signs = {each.rule: each.sign for each in resets_told(earlier, later)}
    assert signs["reset_between"] is signs["burns_closer"] is Sign.SHOWN
    told = resets_told(earlier, later, frozenset({Work.CONTROLLER}))
    of_record = {each.rule: each for each in told}
    assert "as work on record" in of_record["reset_between"].words
    assert of_record["burns_closer"].sign is Sign.CANNOT_BE_TOLD
    wider = DEFAULTS.overridden([Override("reset_slack_km", 6.0, "own vehicles")])
    assert resets_told(earlier, later, limits=wider)[0].sign is Sign.NOT_SHOWN


# Each rule shown by figures of its own, and nothing else.
SHOWN = resets_told(
    replace(EARLIER, burn_interval_km=500.0),
    VisitCounts(
        odometer_km=110_000.0,
        odometer_trusted=True,
        since_clear_km=40.0,
        warm_ups=3,
        monitors_incomplete=True,
        filter_test_incomplete=True,
        other_tests_incomplete=False,
        lamp_on=False,
        lamp_km=12.0,
        permanent_codes=1,
        stored_codes=0,
        run_hours=5_500.0,
        burn_interval_km=200.0,
        on_board_odometer_km=150_000.0,
    ),
)


@pytest.mark.parametrize("sign", SHOWN, ids=lambda sign: sign.rule)
def test_sign_that_is_shown_has_causes_first_and_says_what_to_ask(sign: ResetSign) -> None:
    assert sign.sign is Sign.SHOWN
    assert sign.innocent
    assert sign.ask_next
    for word in ("fraud", "deceit", "cheat", "tamper", "hidden", "hid ", "suspicious"):
        assert word not in f"{sign.words} {sign.ask_next} {' '.join(sign.innocent)}".lower()


@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_count_that_cannot_be_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="`lamp_km` is 0 or more"):
        VisitCounts(lamp_km=value)
    assert VisitCounts(lamp_km=0.0).lamp_km == 0.0

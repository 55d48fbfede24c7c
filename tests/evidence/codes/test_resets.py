"""Resets of fault memory: each guard with one fault at a time."""

from dataclasses import replace

import pytest

from garage.evidence.codes.resets import (
    INNOCENT,
    Sign,
    VisitCounts,
    recently_cleared,
    reset_between,
)

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


def test_reset_beyond_the_slack_is_unexplained_and_within_it_not_shown() -> None:
    sign = reset_between(EARLIER, LATER, recorded=False)
    assert (sign.sign, sign.innocent) == (Sign.SHOWN, INNOCENT)
    assert sign.words.startswith("unexplained")
    within = replace(LATER, since_clear_km=9_845.0)
    assert reset_between(EARLIER, within, recorded=False).sign is Sign.NOT_SHOWN


def test_reset_with_work_on_record_is_explained() -> None:
    assert "unexplained" not in reset_between(EARLIER, LATER, recorded=True).words


@pytest.mark.parametrize(
    "change",
    [
        {"odometer_km": None},
        {"odometer_trusted": False},
        {"odometer_km": 99_999.0},
        {"since_clear_km": None},
        {"since_clear_km": 65_535.0},
    ],
)
def test_reset_cannot_be_told(change: dict[str, float | None]) -> None:
    later = replace(LATER, **change)
    assert reset_between(EARLIER, later, recorded=False).sign is Sign.CANNOT_BE_TOLD


def test_reset_cannot_be_told_from_an_earlier_odometer_not_trusted() -> None:
    earlier = replace(EARLIER, odometer_trusted=False)
    assert reset_between(earlier, LATER, recorded=False).sign is Sign.CANNOT_BE_TOLD

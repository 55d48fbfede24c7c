"""Rule 8: why a part was removed says whether it failed."""

import pytest

from garage.outcomes.account import account_of
from garage.outcomes.choices import Ending
from garage.outcomes.lives import Life
from tests.outcomes.histories import History, cleaned, lives, replaced

pytestmark = pytest.mark.django_db


def removed(because: str, *, planned: bool | None = False, **said: str) -> Life:
    van = History(watched_from_new=True)
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced(because)], planned=planned, **said)
    return lives()[0]


@pytest.mark.parametrize(
    ("because", "planned", "ending", "failed"),
    [
        ("failed", False, Ending.FAILED, True),
        ("failed", True, Ending.FAILED, True),
        ("damaged_by_other_fault", False, Ending.FAILED_BY_OTHER_FAULT, True),
        ("damaged_by_other_fault", True, Ending.FAILED_BY_OTHER_FAULT, True),
        ("sound", False, Ending.REMOVED_UNFAILED, False),
        ("planned", False, Ending.REMOVED_UNFAILED, False),
        ("sound", True, Ending.REMOVED_UNFAILED, False),
        ("planned", True, Ending.REMOVED_UNFAILED, False),
        # Not known why, or nothing said: an unplanned removal failed, a planned one left.
        ("unknown", False, Ending.COUNTED_FAILED, True),
        ("", False, Ending.COUNTED_FAILED, True),
        ("unknown", True, Ending.COUNTED_UNFAILED, False),
        ("", True, Ending.COUNTED_UNFAILED, False),
    ],
)
def test_why_it_was_removed_says_whether_it_failed(
    because: str, planned: bool, ending: Ending, failed: bool
) -> None:
    life = removed(because, planned=planned)
    assert (life.ending, life.failed, life.used) == (ending, failed, True)
    assert (life.seen_km, life.presumed_km) == (70_000, 70_000)


@pytest.mark.parametrize(
    ("said", "ending"),
    [
        ({"complaint": "no power"}, Ending.COUNTED_FAILED),
        ({"trouble_codes": "P2463"}, Ending.COUNTED_FAILED),
        ({}, Ending.COUNTED_UNFAILED),
    ],
)
def test_not_said_whether_planned_a_complaint_or_code_makes_it_a_failure(
    said: dict[str, str], ending: Ending
) -> None:
    assert removed("unknown", planned=None, **said).ending == ending


@pytest.mark.parametrize("because", ["failed", "damaged_by_other_fault", "sound", "unknown"])
def test_cleaning_off_the_vehicle_closes_a_life_as_it_says(because: str) -> None:
    for op in (cleaned(because), replaced(because)):
        van = History(watched_from_new=True)
        van.job("2016-01-05", 70_000, ops=[op])
    by_cleaning, by_replacing = (life for life in lives() if not life.fitted_here)
    assert by_cleaning.ending == by_replacing.ending != Ending.STILL_IN_PLACE


def test_each_way_of_ending_is_counted_apart() -> None:
    for because in ("failed", "damaged_by_other_fault", "unknown", "sound"):
        van = History(watched_from_new=True)
        van.job("2016-01-05", 70_000, ops=[replaced(because)])
    van = History(watched_from_new=True)
    van.service("2016-01-05", 70_000, ops=[replaced("unknown")])
    endings = account_of(lives()).endings
    for ending in (
        Ending.FAILED,
        Ending.FAILED_BY_OTHER_FAULT,
        Ending.COUNTED_FAILED,
        Ending.COUNTED_UNFAILED,
        Ending.REMOVED_UNFAILED,
    ):
        assert endings[ending] == 1


def test_the_last_sound_distance_is_kept_on_the_lifes_own_clock() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced()])
    van.job("2018-01-05", 115_000, ops=[replaced(last_sound_km=100_000)])
    life = lives()[1]
    # It stands in failed where it was found, and as an interval beside it.
    assert (life.last_sound_km, life.seen_km, life.failed) == (30_000, 45_000, True)


def test_without_a_last_sound_distance_there_is_none() -> None:
    assert removed("failed").last_sound_km is None

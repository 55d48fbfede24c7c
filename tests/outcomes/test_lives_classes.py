"""Rule 7: each fitment has one class, the first that applies."""

import pytest

from garage.outcomes.account import account_of
from garage.outcomes.choices import LifeClass
from tests.outcomes.histories import History, inspected, lives, replaced

pytestmark = pytest.mark.django_db


def classes(**how: object) -> list[LifeClass]:
    return [life.life_class for life in lives(**how)]


# --- arrived failed ---


def test_a_part_that_failed_before_its_vehicle_was_first_seen_arrived_failed() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[replaced("failed")])
    assert classes(as_of="2016-01-05") == [LifeClass.ARRIVED_FAILED, LifeClass.USED]


def test_failed_at_a_later_job_it_did_not_arrive_failed() -> None:
    van = History()
    van.service("2014-01-05", 30_000)
    van.job("2015-01-05", 50_000, ops=[replaced("failed")])
    assert classes(as_of="2016-01-05") == [LifeClass.START_UNKNOWN, LifeClass.USED]


@pytest.mark.parametrize("because", ["failed", "damaged_by_other_fault", "unknown", ""])
def test_any_failure_at_the_first_job_arrived_failed(because: str) -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[replaced(because)])
    assert classes()[0] == LifeClass.ARRIVED_FAILED


@pytest.mark.parametrize("because", ["sound", "planned"])
def test_removed_sound_at_the_first_job_it_did_not_arrive_failed(because: str) -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[replaced(because)])
    assert classes()[0] == LifeClass.START_UNKNOWN


def test_not_known_why_at_a_planned_first_job_did_not_fail() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[replaced("unknown")])
    assert classes()[0] == LifeClass.START_UNKNOWN


def test_found_failed_at_a_planned_first_job_arrived_failed_all_the_same() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.ARRIVED_FAILED


def test_of_a_vehicle_watched_from_new_nothing_arrived_failed() -> None:
    van = History(watched_from_new=True)
    van.job("2015-01-05", 50_000, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.USED


def test_arrived_failed_goes_before_every_other_class() -> None:
    van = History()  # in trouble, start unknown, and no odometer that stands
    van.job("2015-01-05", None, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.ARRIVED_FAILED


def test_a_factory_part_that_arrived_failed_is_no_life_either() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory"), replaced("failed")])
    assert classes()[0] == LifeClass.ARRIVED_FAILED


# --- the classes after it ---


def test_start_unknown_goes_before_entered_in_trouble() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected()])
    van.job("2015-02-05", 51_000, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.START_UNKNOWN


def test_entered_in_trouble_is_a_known_start_on_a_vehicle_that_came_in_trouble() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job("2015-02-05", 51_000, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.ENTERED_IN_TROUBLE


def test_entered_in_trouble_goes_before_no_watched_time() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")])
    assert classes() == [LifeClass.ENTERED_IN_TROUBLE]


def test_seen_once_for_another_reason_has_no_watched_time() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    assert classes(as_of="2015-01-05") == [LifeClass.NO_WATCHED_TIME]


def test_seen_twice_it_is_used() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    van.service("2016-01-05", 60_000)
    assert classes() == [LifeClass.USED]


def test_a_part_fitted_and_not_driven_since_has_no_watched_time() -> None:
    van = History(watched_from_new=True)
    van.job("2015-01-05", 50_000, ops=[replaced("failed")])
    assert classes(as_of="2015-01-05") == [LifeClass.USED, LifeClass.NO_WATCHED_TIME]


def test_a_vehicle_watched_from_new_and_never_seen_has_no_watched_time() -> None:
    History(watched_from_new=True)
    other = History()
    other.service("2015-01-05", 50_000)
    assert classes() == [LifeClass.NO_WATCHED_TIME]


def test_a_factory_part_without_any_odometer_that_stands_has_no_watched_time() -> None:
    van = History()
    van.service("2015-01-05", None, ops=[inspected("factory")])
    van.job("2016-01-05", None, ops=[replaced("failed")])
    assert classes()[0] == LifeClass.NO_WATCHED_TIME


def test_a_vehicle_without_a_fitment_has_no_life() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    assert classes() == []
    assert account_of([]).closes

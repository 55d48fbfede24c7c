"""Rule 2: a workshop sees trouble, not vehicles. From when is a part found in place watched?"""

import pytest

from garage.outcomes.watching import Watch, found_from_km, watch_begins
from garage.records.choices import System
from tests.outcomes.histories import EXHAUST, History, done, facts_of, inspected

pytestmark = pytest.mark.django_db


def watch_of(history: History, **how: object) -> Watch:
    return watch_begins(facts_of(history, **how), system=EXHAUST)


def test_watch_begins_at_the_first_job_for_another_reason() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000)
    watch = watch_of(van)
    assert (watch.arrived_in_trouble, watch.from_km) == (False, 50_000)


def test_a_vehicle_that_comes_first_in_trouble_is_never_watched_for_the_part_found() -> None:
    van = History()
    van.job("2015-01-05", 50_000)
    van.service("2016-01-05", 70_000)
    watch = watch_of(van)
    assert (watch.arrived_in_trouble, watch.from_km) == (True, None)


@pytest.mark.parametrize("system", sorted(set(System.values) - {EXHAUST}))
def test_trouble_in_another_system_is_another_reason(system: str) -> None:
    van = History()
    van.job("2015-01-05", 50_000, system=system)
    assert watch_of(van) == Watch(False, van.vehicle.jobs.get().pk, 50_000)


def test_a_planned_job_on_the_same_system_is_another_reason() -> None:
    van = History()
    van.job("2015-01-05", 50_000, planned=True, system=EXHAUST)
    assert watch_of(van).from_km == 50_000


@pytest.mark.parametrize(
    ("said", "in_trouble"),
    [
        ({}, False),
        ({"complaint": "lamp on"}, True),
        ({"trouble_codes": "P2463"}, True),
    ],
)
def test_where_nobody_said_whether_it_was_planned_a_complaint_or_code_says_no(
    said: dict[str, str], in_trouble: bool
) -> None:
    van = History()
    van.job("2015-01-05", 50_000, planned=None, **said)
    assert watch_of(van).arrived_in_trouble is in_trouble


def test_a_complaint_at_a_planned_job_leaves_it_planned() -> None:
    van = History()
    van.job("2015-01-05", 50_000, planned=True, complaint="lamp on")
    assert not watch_of(van).arrived_in_trouble


def test_a_vehicle_watched_from_new_is_watched_from_0_whatever_its_first_job() -> None:
    van = History(watched_from_new=True)
    van.job("2015-01-05", 50_000)
    assert watch_of(van) == Watch(False, None, 0)


@pytest.mark.parametrize("watched", [None, False])
def test_not_said_to_be_watched_from_new_is_not_watched_from_new(watched: bool | None) -> None:
    van = History(watched_from_new=watched)
    van.job("2015-01-05", 50_000)
    assert watch_of(van).arrived_in_trouble


def test_a_mere_reading_begins_no_watch() -> None:
    van = History()
    van.reading("2013-01-05", 10_000)
    assert watch_of(van) == Watch(False, None, None)


def test_an_old_reading_handed_over_later_does_not_bring_the_watch_forward() -> None:
    van = History()
    van.reading("2013-01-05", 10_000)
    van.service("2015-01-05", 50_000)
    assert watch_of(van).from_km == 50_000


def test_a_first_job_without_an_odometer_leaves_it_to_the_next_that_has_one() -> None:
    van = History()
    van.service("2015-01-05")
    van.job("2016-01-05", 70_000)
    assert watch_of(van) == Watch(False, van.vehicle.jobs.earliest("opened_on").pk, 70_000)


def test_a_first_job_with_an_odometer_in_doubt_leaves_it_to_the_next_that_stands() -> None:
    van = History()
    van.service("2015-01-05", 500_000)
    van.service("2016-01-05", 70_000)
    van.service("2017-01-05", 90_000)
    assert watch_of(van).from_km == 70_000


def test_trouble_without_an_odometer_is_trouble() -> None:
    van = History()
    van.job("2015-01-05")
    van.service("2016-01-05", 70_000)
    assert watch_of(van).arrived_in_trouble


def test_the_first_job_is_the_earliest_in_whatever_order_jobs_were_recorded() -> None:
    van = History()
    van.job("2016-01-05", 70_000)
    van.service("2015-01-05", 50_000)
    assert watch_of(van).from_km == 50_000


def test_a_look_at_the_part_does_not_make_a_planned_job_trouble() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected("factory", found="same")])
    assert watch_of(van).from_km == 50_000


def test_jobs_after_the_day_of_the_report_do_not_count() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    assert watch_of(van, as_of="2015-01-04") == Watch(False, None, None)
    assert watch_of(van, as_of="2015-01-05").from_km == 50_000


def factory_fitment_watched_from(van: History) -> int | None:
    vehicle = facts_of(van)
    (fitment,) = vehicle.fitments
    return found_from_km(vehicle, watch_begins(vehicle, system=EXHAUST), fitment)


def test_a_part_stated_to_be_the_factorys_at_the_first_job_is_watched_from_there() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    van.service("2016-01-05", 70_000)
    assert factory_fitment_watched_from(van) == 50_000


def test_a_part_stated_later_is_watched_from_then_only() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.service("2016-01-05", 70_000, ops=[inspected("factory")])
    assert factory_fitment_watched_from(van) == 70_000


def test_a_part_stated_without_an_odometer_is_watched_from_the_next_that_stands() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.service("2016-01-05", ops=[inspected("factory")])
    van.service("2017-01-05", 90_000)
    assert factory_fitment_watched_from(van) == 90_000


def test_a_part_of_a_vehicle_watched_from_new_is_watched_from_0_whoever_states_it() -> None:
    van = History(watched_from_new=True)
    van.service("2016-01-05", 70_000, ops=[inspected("factory")])
    assert factory_fitment_watched_from(van) == 0


@pytest.mark.parametrize(("kind", "in_trouble"), [("clear_codes", True), ("inspect", False)])
def test_trouble_is_what_a_first_job_did_on_the_system_and_not_a_look(
    kind: str, in_trouble: bool
) -> None:
    van = History()
    van.job("2015-01-05", 50_000, system="engine", ops=[done(kind)])
    assert watch_of(van).arrived_in_trouble is in_trouble

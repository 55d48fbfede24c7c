"""Rules 1, 2 and 4: a life's clock, where it is entered, and lives whose beginning is not known."""

import pytest

from garage.outcomes.choices import Ending, LifeClass, Stratum
from garage.records.choices import DistanceUnit
from tests.outcomes.histories import (
    EXHAUST,
    History,
    cleaned,
    done,
    inspected,
    lives,
    replaced,
)
from tests.records.factories import ClusterReplacementFactory, PartKindFactory

pytestmark = pytest.mark.django_db


# --- rule 1: odometer now less odometer at fitting ---


def test_a_life_is_the_odometer_at_its_end_less_that_at_its_fitting() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced()])
    van.job("2018-01-05", 115_000, ops=[replaced()])
    life = lives()[1]
    assert (life.start_km, life.entry_km, life.seen_km) == (70_000, 0, 45_000)
    assert (life.life_class, life.ending, life.failed) == (LifeClass.USED, Ending.FAILED, True)


def test_a_life_read_in_miles_is_the_same_life() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    for day, miles in (("2016-01-05", 50_000), ("2018-01-05", 75_000)):
        job = van.job(day, ops=[replaced()])
        van.reading(day, miles, unit=DistanceUnit.MILES, job=job, source="job")
    assert lives()[1].seen_km == 40_234  # 25 000 miles are 40 233.6 km


def test_a_replaced_instrument_does_not_shorten_a_life() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced()])
    ClusterReplacementFactory(
        vehicle=van.vehicle,
        done_on=van.vehicle.jobs.latest("opened_on").opened_on.replace(year=2017),
        typed_offset=90_000,
    )
    van.job("2018-01-05", 25_000, ops=[replaced()])
    assert lives()[1].seen_km == 45_000


def test_a_part_that_fails_before_it_has_gone_a_kilometre_has_failed_all_the_same() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced()])
    van.job("2016-01-06", 70_000, ops=[replaced()])
    life = lives()[1]
    assert (life.life_class, life.failed, life.entry_km, life.seen_km) == ("used", True, 0, 1)


# --- rule 2: entered where watching begins ---


def test_a_part_fitted_here_is_watched_from_its_fitting() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    found, fitted = lives(as_of="2017-01-05")
    assert (fitted.entry_km, fitted.fitted_here) == (0, True)
    assert not found.fitted_here


def test_a_factory_part_found_in_place_is_entered_at_the_first_job() -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    life = lives()[0]
    assert (life.start_km, life.entry_km, life.seen_km) == (0, 50_000, 70_000)
    assert life.life_class == LifeClass.USED


def test_a_factory_part_of_a_vehicle_watched_from_new_is_entered_at_0() -> None:
    van = History(watched_from_new=True)
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    life = lives()[0]
    assert (life.start_km, life.entry_km, life.seen_km) == (0, 0, 70_000)


def test_an_old_reading_handed_over_later_is_no_watched_time() -> None:
    van = History()
    van.reading("2012-01-05", 10_000)
    van.service("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    assert lives()[0].entry_km == 50_000


def test_a_part_found_on_a_vehicle_that_came_in_trouble_is_left_out() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    found, fitted = lives(as_of="2017-01-05")
    assert found.life_class == LifeClass.ENTERED_IN_TROUBLE
    assert (fitted.life_class, fitted.stratum) == (LifeClass.USED, Stratum.ON_ARRIVALS)


def test_a_vehicle_that_came_for_another_reason_is_of_the_other_stratum() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")], planned=True)
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    found, fitted = lives(as_of="2017-01-05")
    assert found.life_class == LifeClass.USED
    assert {found.stratum, fitted.stratum} == {Stratum.SEEN_BEFORE_TROUBLE}


def test_trouble_in_another_system_is_no_trouble_of_this_part() -> None:
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")], system="brakes")
    van.job("2016-01-05", 70_000, ops=[replaced("failed")])
    assert [life.life_class for life in lives(as_of="2017-01-05")] == ["used", "used"]


def test_trouble_is_that_of_the_part_kinds_own_system() -> None:
    turbocharger = PartKindFactory(code="turbocharger", system="air")
    van = History()
    van.job("2015-01-05", 50_000, ops=[inspected("factory")])
    van.job(
        "2016-01-05",
        70_000,
        ops=[replaced(system="air", part_kind="turbocharger")],
        system="air",
    )
    found, fitted = lives(part_kind=turbocharger, as_of="2017-01-05")
    assert (found.life_class, fitted.stratum) == ("start_unknown", Stratum.SEEN_BEFORE_TROUBLE)


# --- rule 4: no known fitting, no life on the km clock ---


def test_a_part_found_without_a_word_of_its_origin_has_no_life() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.service("2016-01-05", 70_000)
    van.job("2017-01-05", 90_000, ops=[replaced("failed")])
    life = lives()[0]
    assert (life.life_class, life.start_km) == (LifeClass.START_UNKNOWN, None)


@pytest.mark.parametrize("origin", ["new_original", "used", "unknown"])
def test_only_the_origin_factory_tells_when_a_part_found_was_fitted(origin: str) -> None:
    van = History()
    van.service("2015-01-05", 50_000, ops=[inspected(origin)])
    van.job("2017-01-05", 90_000, ops=[replaced("failed")])
    life = lives()[0]
    assert (life.life_class, life.origin) == (LifeClass.START_UNKNOWN, origin)


def test_a_fitting_without_an_odometer_begins_no_life() -> None:
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", None, ops=[replaced("failed")])
    van.job("2017-01-05", 90_000, ops=[replaced("failed")])
    assert lives()[1].life_class == LifeClass.START_UNKNOWN


# --- rule 5: cleaned and put back ---


def test_a_cleaned_part_that_goes_back_in_starts_a_new_life() -> None:
    van = History(watched_from_new=True)
    van.job("2016-01-05", 70_000, ops=[cleaned("failed")])
    van.job("2018-01-05", 100_000, ops=[replaced("failed")])
    first, second, _ = lives(as_of="2019-01-05")
    assert (first.origin, first.failed, first.seen_km) == ("factory", True, 70_000)
    assert (second.origin, second.entry_km, second.seen_km) == ("cleaned", 0, 30_000)
    assert second.failed


@pytest.mark.parametrize("kind", ["clean_on_vehicle", "regenerate_stationary", "clear_codes"])
def test_work_on_a_part_that_stays_in_place_ends_no_life(kind: str) -> None:
    van = History(watched_from_new=True)
    van.job("2016-01-05", 70_000, ops=[done(kind)])
    (life,) = lives(as_of="2016-01-05")
    assert (life.ending, life.seen_km) == (Ending.STILL_IN_PLACE, 70_000)


def test_a_failure_found_but_not_repaired_ends_no_life() -> None:
    van = History(watched_from_new=True)
    van.job("2016-01-05", 70_000, ops=[inspected()], complaint="loss of power", system=EXHAUST)
    (life,) = lives(as_of="2016-01-05")
    assert (life.ending, life.failed) == (Ending.STILL_IN_PLACE, False)

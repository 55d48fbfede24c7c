"""Rule 6: a reading in doubt is set aside alone, and takes no other life with it."""

import pytest

from garage.outcomes.choices import Ending, LifeClass
from garage.records.models import OdometerReading
from tests.outcomes.histories import History, lives, replaced

pytestmark = pytest.mark.django_db

SLIPPED = 700_000  # a digit too many for the 70 000 km of 2016


def van_told(fitting_km: int, removal_km: int) -> History:
    """A part fitted in 2016 and failed in 2018, between readings that stand."""
    van = History()
    van.service("2015-01-05", 50_000)
    van.job("2016-01-05", fitting_km, ops=[replaced("failed")])
    van.service("2017-01-05", 90_000)
    van.job("2018-01-05", removal_km, ops=[replaced("failed")])
    van.service("2019-01-05", 130_000)
    return van


def test_readings_that_stand_give_the_life_its_length() -> None:
    van_told(70_000, 110_000)
    life = lives()[1]
    assert (life.life_class, life.ending, life.seen_km) == (LifeClass.USED, "failed", 40_000)


def test_a_fitting_reading_in_doubt_puts_the_life_in_doubt() -> None:
    van_told(SLIPPED, 110_000)
    assert OdometerReading.objects.count() == 5
    found, doubted, last = lives()
    assert doubted.life_class == LifeClass.ODOMETER_IN_DOUBT
    # The doubt is the fitting's alone: what was fitted after it is used.
    assert last.life_class == LifeClass.USED
    assert found.life_class == LifeClass.START_UNKNOWN


def test_a_removal_reading_in_doubt_withdraws_the_life_at_the_last_good_reading_before() -> None:
    van_told(70_000, 1_100_000)
    _, life, next_one = lives()
    assert life.life_class == LifeClass.USED
    assert (life.ending, life.failed) == (Ending.REMOVAL_KM_NOT_KNOWN, False)
    assert (life.seen_km, life.presumed_km) == (20_000, 20_000)
    assert next_one.life_class == LifeClass.ODOMETER_IN_DOUBT


def test_the_last_good_reading_before_may_be_of_any_source() -> None:
    van = van_told(70_000, 1_100_000)
    van.reading("2017-07-05", 100_000)
    assert lives()[1].seen_km == 30_000


def test_a_good_reading_after_the_removal_is_not_one_before() -> None:
    van = van_told(70_000, 1_100_000)
    van.reading("2018-01-06", 110_000)
    assert lives()[1].seen_km == 20_000


def test_a_mere_reading_in_doubt_touches_no_life() -> None:
    van = van_told(70_000, 110_000)
    van.reading("2017-07-05", 990_000)
    assert lives()[1].seen_km == 40_000


def test_a_reading_in_doubt_that_is_resolved_comes_back() -> None:
    van = van_told(SLIPPED, 110_000)
    assert lives()[1].life_class == LifeClass.ODOMETER_IN_DOUBT
    OdometerReading.objects.filter(vehicle=van.vehicle, typed=SLIPPED).update(typed=70_000)
    life = lives()[1]
    assert (life.life_class, life.seen_km) == (LifeClass.USED, 40_000)


def test_a_job_in_doubt_ends_no_seen_life_early_nor_late() -> None:
    van = History(watched_from_new=True)
    for year, km in ((2015, 20_000), (2016, 40_000), (2017, 60_000)):
        van.service(f"{year}-01-05", km)
    van.service("2018-01-05", 8_000_000)
    (life,) = lives()
    assert life.seen_km == 60_000

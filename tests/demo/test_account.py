"""The account of the demo's lives closes, and agrees with what the region was told to do."""

import pytest

from garage.outcomes.choices import FAILURES, LifeClass
from garage.records.models import Fitment, Organisation
from garage.records.services.demo import demo_load
from tests.demo.world import NOW, Found

pytestmark = pytest.mark.django_db


def test_the_account_closes(found: Found) -> None:
    report = found.report
    assert report.account.closes
    assert report.account.fitments == len(found.lives)
    assert sum(each.account.fitments for each in report.accounts) == report.account.fitments
    assert all(each.account.closes for each in report.accounts)
    assert sum(report.account.classes.values()) == report.account.fitments


def test_all_vehicles_and_all_filters_taken_out_are_known(found: Found) -> None:
    counts = found.told["counts"]
    assert found.report.vehicles == counts["vehicles"]
    failed = sum(life.ending in FAILURES for life in found.lives)
    # All but removals at odometers that do not stand: these are withdrawn.
    assert counts["filter_failures_seen"] - 15 <= failed <= counts["filter_failures_seen"]


def test_every_fitting_in_view_is_a_fitment(found: Found) -> None:
    fitted = sum(life.fitted_here for life in found.lives)
    assert fitted == found.told["counts"]["filters_fitted"]


def test_vehicles_that_first_came_in_trouble_are_set_apart(found: Found) -> None:
    arrived = {
        life.vehicle_id for life in found.lives if life.life_class is LifeClass.ARRIVED_FAILED
    }
    assert len(arrived) > 100
    assert all(found.told_of(vehicle)["arrived"] for vehicle in arrived)
    entered = [life for life in found.lives if life.life_class is LifeClass.ENTERED_IN_TROUBLE]
    assert all(found.told_of(life.vehicle_id)["arrived"] for life in entered)
    # A part found on a vehicle that came in trouble enters no table, unless it was known from new.
    from_new = {car.vehicle_id for car in found.facts.vehicles if car.watched_from_new}
    for life in found.lives:
        if life.used and not life.fitted_here and life.vehicle_id not in from_new:
            assert not found.told_of(life.vehicle_id)["arrived"]


def test_loading_it_again_in_a_test_gives_the_same_fitments(found: Found) -> None:
    assert not Organisation.objects.exists()
    demo_load(now=NOW)
    filters = Fitment.objects.filter(part_kind__code="particulate_filter")
    assert filters.count() == len(found.lives)

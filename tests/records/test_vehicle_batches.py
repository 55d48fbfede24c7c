"""What hangs on many vehicles is asked for by range where their keys lie close, and passed over
where it is another's."""

from datetime import date

import pytest

from garage.records.models import Fitment, Job, OdometerReading, Vehicle
from garage.records.services.settle import vehicles_settle
from garage.records.vehicle_batches import among
from tests.records.factories import VehicleFactory
from tests.records.stories import job_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def vehicles() -> list[Vehicle]:
    made = VehicleFactory.create_batch(6)
    for each in made:
        job_of(each, date(2020, 5, 6), 100_000)
    return made


def found(ids: list[int]) -> set[int]:
    return set(Job.objects.filter(among("vehicle_id", ids)).values_list("vehicle_id", flat=True))


def test_close_keys_are_a_range_which_may_hold_others(vehicles: list[Vehicle]) -> None:
    ids = [each.pk for each in vehicles]
    assert " IN " not in str(Job.objects.filter(among("vehicle_id", ids)).query)
    assert found(ids) == set(ids)
    without_one = [*ids[:2], *ids[3:]]
    assert found(without_one) == set(ids)


def test_keys_far_apart_are_a_list(vehicles: list[Vehicle]) -> None:
    ids = [vehicles[0].pk, vehicles[-1].pk]
    assert " IN " in str(Job.objects.filter(among("vehicle_id", ids)).query)
    assert found(ids) == set(ids)


def test_nothing_asked_finds_nothing(vehicles: list[Vehicle]) -> None:
    assert found([]) == set()


def test_vehicle_between_those_settled_is_left_alone(vehicles: list[Vehicle]) -> None:
    between = vehicles[2]
    OdometerReading.objects.update(km=1)
    vehicles_settle(vehicle_ids=[each.pk for each in vehicles if each != between])
    assert not Fitment.objects.filter(vehicle=between).exists()
    assert Fitment.objects.values("vehicle").distinct().count() == 5
    assert list(OdometerReading.objects.filter(km=1).values_list("vehicle", flat=True)) == [
        between.pk
    ]

"""Rows inserted as values are those that model objects would have made."""

from datetime import date
from decimal import Decimal

import pytest

from garage.records.bulk_write import rows_insert
from garage.records.models import Job, OdometerReading, Operation
from tests.records.factories import JobFactory, VehicleFactory

pytestmark = pytest.mark.django_db


def test_reading_is_the_same_either_way() -> None:
    vehicle, other = VehicleFactory(), VehicleFactory()
    given = {"read_on": date(2024, 2, 29), "typed": Decimal("7.5"), "unit": "km", "km": 8}
    given |= {"source": "keeper"}
    theirs = OdometerReading.objects.create(vehicle=vehicle, **given)
    rows_insert(OdometerReading, ("vehicle", *given), [(other.pk, *given.values())])
    ours = OdometerReading.objects.get(vehicle=other)
    for field in OdometerReading._meta.concrete_fields:
        if field.name not in ("id", "vehicle"):
            assert getattr(ours, field.attname) == getattr(theirs, field.attname), field.name
    assert OdometerReading.objects.filter(typed=Decimal("7.50")).count() == 2


def test_operation_is_the_same_either_way() -> None:
    job = JobFactory()
    given = {"kind": "repair", "system": "fuel", "labour_cost": Decimal("1.10"), "currency": "EUR"}
    theirs = Operation.objects.create(job=job, line=1, **given)
    rows_insert(Operation, ("job", "line", *given), [(job.pk, 2, *given.values())])
    ours = Operation.objects.get(job=job, line=2)
    for field in Operation._meta.concrete_fields:
        if field.name not in ("id", "line"):
            assert getattr(ours, field.attname) == getattr(theirs, field.attname), field.name
    assert Operation.objects.filter(labour_cost=Decimal("1.1")).count() == 2


def test_lists_are_kept_as_lists() -> None:
    job = JobFactory()
    rows_insert(
        Job,
        ("organisation", "vehicle", "ref", "opened_on", "system", "repaired_elsewhere"),
        [(job.organisation_id, job.vehicle_id, "X1", date(2024, 1, 1), "fuel", ["air"])],
    )
    made = Job.objects.get(ref="X1")
    assert (made.repaired_elsewhere, made.complaint, made.planned) == (["air"], "", None)


def test_no_rows_are_no_statement(django_assert_num_queries) -> None:
    with django_assert_num_queries(0):
        rows_insert(Operation, ("job", "line"), [])

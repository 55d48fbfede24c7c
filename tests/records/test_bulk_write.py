"""Rows inserted as values are those that model objects would have made."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from garage.records import bulk_write
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


@pytest.mark.parametrize("number", [1, 4, 11, 1_000])
@pytest.mark.parametrize("together", [1, 4, 512])
def test_rows_beyond_one_statement_are_each_written_once(
    monkeypatch: pytest.MonkeyPatch, number: int, together: int
) -> None:
    monkeypatch.setattr(bulk_write, "ROWS_A_STATEMENT", together)
    vehicle = VehicleFactory()
    names = ("vehicle", "read_on", "typed", "unit", "source", "km")
    given = [(vehicle.pk, date(2024, 2, 29), Decimal(n), "km", "keeper", n) for n in range(number)]
    rows_insert(OdometerReading, names, given)
    found = OdometerReading.objects.order_by("pk").values_list(
        "vehicle_id", "read_on", "typed", "unit", "source", "km"
    )
    assert list(found) == given


def test_odd_decimals_are_taken_as_the_field_takes_them() -> None:
    vehicle = VehicleFactory()
    names = ("vehicle", "read_on", "typed", "unit", "source", "km")
    days = [date(2024, 1, day) for day in (1, 2, 3)]
    typed = ["12.50", 12.5, Decimal("12.5")]
    rows_insert(
        OdometerReading,
        names,
        [
            (vehicle.pk, day, each, "km", "keeper", 12)
            for day, each in zip(days, typed, strict=True)
        ],
    )
    assert OdometerReading.objects.filter(typed=Decimal("12.50")).count() == 3
    with pytest.raises(ValidationError):
        rows_insert(
            OdometerReading, names, [(vehicle.pk, days[0], Decimal("NaN"), "mi", "keeper", 12)]
        )

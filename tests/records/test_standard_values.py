"""Readings from before standard values were kept get theirs, exactly as they would today."""

from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.quantities.units import converted, unit_of
from garage.records.models import Reading
from tests.records.evidence_factories import ReadingFactory

migration = import_module("garage.records.migrations.0017_standard_values")


@pytest.mark.parametrize("quantity", list(migration.FACTORS))
def test_migrated_value_is_that_of_todays_units(quantity: str) -> None:
    known = quantities()[quantity]
    for unit in filter(None, migration.FACTORS[quantity]):
        today = unit_of(unit, known.dimension)
        assert today is not None
        value = Decimal("12.5")
        exact = float(converted(value, today, known.unit))
        assert migration.standard_value_of(quantity, unit, value) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "value"), [("kPa", 48.0), ("K P A", 48.0), ("", None), ("x", None)]
)
@pytest.mark.django_db
def test_migration_fills_what_has_a_unit_and_leaves_the_rest(
    unit: str, value: float | None
) -> None:
    ReadingFactory(value=Decimal("4.8"), unit=unit, standard_value=None)
    migration.tell_standard_values(apps, None)
    assert Reading.objects.get().standard_value == value


@pytest.mark.django_db
def test_migration_leaves_a_value_that_stands() -> None:
    ReadingFactory(value=Decimal("4.8"), unit="kPa", standard_value=1.0)
    migration.tell_standard_values(apps, None)
    assert Reading.objects.get().standard_value == 1.0

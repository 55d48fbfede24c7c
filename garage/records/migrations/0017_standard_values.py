"""Readings that were taken with a unit get their value in the quantity's standard unit."""

from decimal import Decimal

from django.db import migrations

#: As the units were when this was written: standard value = value x factor.
MBAR = {
    "mbar": Decimal(1),
    "hpa": Decimal(1),
    "kpa": Decimal(10),
    "pa": Decimal("0.01"),
    "bar": Decimal(1000),
    "psi": Decimal("68.94757293168361336722673445"),
    "inhg": Decimal("33.86389"),
    "inh2o": Decimal("2.4908891"),
    "mmhg": Decimal("1.33322387415"),
    "mmh2o": Decimal("0.0980665"),
}
FACTORS = {
    "pressure_across_filter": MBAR,
    "soot_mass": {"g": Decimal(1)},
    "ash_mass": {"g": Decimal(1)},
    "soot_limit": {"g": Decimal(1)},
    "filter_volume": {"l": Decimal(1)},
    "exhaust_temperature_before": {"°c": Decimal(1), "c": Decimal(1)},
    "exhaust_temperature_after": {"°c": Decimal(1), "c": Decimal(1)},
    "coolant_temperature": {"°c": Decimal(1), "c": Decimal(1)},
    "engine_speed": {"rpm": Decimal(1), "": Decimal(1)},
    "distance_since_burn": {"km": Decimal(1), "mi": Decimal("1.609344")},
    "distance_since_clear": {"km": Decimal(1), "mi": Decimal("1.609344")},
    "particle_count": {"1/cm3": Decimal(1), "/cm3": Decimal(1), "#/cm3": Decimal(1)},
    "opacity": {"1/m": Decimal(1), "m-1": Decimal(1)},
    "oil_level": {"%": Decimal(1)},
}


def standard_value_of(quantity, unit, value):
    """The value in the quantity's standard unit; None where the unit was not said or is odd."""
    factor = FACTORS.get(quantity, {}).get("".join(unit.split()).casefold())
    return None if factor is None else float(value * factor)


def tell_standard_values(apps, schema_editor):
    readings = apps.get_model("records", "Reading").objects
    for each in readings.filter(standard_value__isnull=True).iterator():
        each.standard_value = standard_value_of(each.quantity, each.unit, each.value)
        if each.standard_value is not None:
            each.save(update_fields=["standard_value"])


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0016_evidence_in_full"),
    ]

    operations = [
        migrations.RunPython(tell_standard_values, migrations.RunPython.noop),
    ]

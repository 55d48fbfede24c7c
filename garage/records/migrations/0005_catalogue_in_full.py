"""The parts around the exhaust filter that a diesel workshop replaces again and again.

Lives are first values of common practice, without a source, for parts fitted from new on a car or
light van; an organisation's own value, or its records, take their place.
"""

from django.db import migrations

COMMON = "common practice, no source"
CYLINDERS = ["cyl 1", "cyl 2", "cyl 3", "cyl 4"]
AFTERTREATMENT = "exhaust_aftertreatment"

#: code, name, system, wears by, km, months, positions, what counts as failed
KINDS = [
    (
        "pressure_sensor",
        "filter pressure sensor",
        AFTERTREATMENT,
        "km",
        160_000,
        None,
        [],
        "Zero or gain outside tolerance with sound hoses, or no signal.",
    ),
    (
        "pressure_hose",
        "filter pressure hose",
        AFTERTREATMENT,
        "both",
        160_000,
        120,
        ["before the filter", "after the filter"],
        "Split, off, melted or blocked.",
    ),
    (
        "temperature_sensor",
        "exhaust temperature sensor",
        AFTERTREATMENT,
        "km",
        160_000,
        None,
        ["1", "2", "3", "4"],
        "Open or short circuit, or disagrees with the others when cold.",
    ),
    (
        "oxidation_catalyst",
        "oxidation catalyst",
        AFTERTREATMENT,
        "km",
        250_000,
        None,
        [],
        "No rise of temperature in a burn with sound dosing, face blocked, or monolith loose.",
    ),
    (
        "reductant_pump",
        "reductant pump",
        AFTERTREATMENT,
        "both",
        200_000,
        120,
        [],
        "Pressure not reached or not held with a sound line and sound reductant.",
    ),
    (
        "reductant_injector",
        "reductant injector",
        AFTERTREATMENT,
        "km",
        160_000,
        None,
        [],
        "Leaks, is blocked, or doses outside tolerance in the quantity test.",
    ),
    (
        "nox_sensor",
        "NOx sensor",
        AFTERTREATMENT,
        "km",
        150_000,
        None,
        ["before the catalyst", "after the catalyst"],
        "No signal, heater fault, or disagrees with the other when no reductant is dosed.",
    ),
    (
        "egr_valve",
        "gas-recirculation valve",
        "recirculation",
        "km",
        160_000,
        None,
        [],
        "Sticks, leaks when shut, or does not follow the commanded position after cleaning.",
    ),
    (
        "egr_cooler",
        "gas-recirculation cooler",
        "recirculation",
        "km",
        200_000,
        None,
        [],
        "Loses coolant into the exhaust, is blocked, or its bypass does not move.",
    ),
    (
        "turbocharger",
        "turbocharger",
        "air",
        "km",
        240_000,
        None,
        [],
        "Shaft play, oil past the seals, wheel damage, or guide vanes that stick after cleaning.",
    ),
    (
        "injector",
        "injector",
        "fuel",
        "km",
        240_000,
        None,
        CYLINDERS,
        "Leak-back, balance or delivery outside tolerance, or leaks at its seat.",
    ),
    (
        "thermostat",
        "thermostat",
        "cooling",
        "both",
        160_000,
        120,
        [],
        "Engine does not reach or does not hold its temperature.",
    ),
    (
        "glow_plug",
        "glow plug",
        "ignition_aid",
        "km",
        130_000,
        None,
        CYLINDERS,
        "Open circuit, or current outside tolerance.",
    ),
]
FILTER_FAILED = (
    "Cannot be brought back to its normal pressure by a completed burn, or is cracked, melted, "
    "broken through or missing."
)


def add_kinds(apps, schema_editor):
    kinds = apps.get_model("records", "PartKind").objects
    for code, name, system, wears_by, km, months, positions, failed_means in KINDS:
        kinds.get_or_create(
            code=code,
            defaults={
                "name": name,
                "system": system,
                "wears_by": wears_by,
                "normal_life_km": km,
                "normal_life_months": months,
                "normal_life_source": COMMON,
                # Not every vehicle leaves the factory with one of each, nor with how many: a part
                # assumed where there is none would be counted as one that never fails.
                "fitted_from_new": False,
                "positions": positions,
                "failed_means": failed_means,
            },
        )
    kinds.filter(code="particulate_filter", failed_means="").update(failed_means=FILTER_FAILED)


class Migration(migrations.Migration):
    dependencies = [("records", "0004_audit_append_only")]

    # Reversing keeps the rows: records may stand on them.
    operations = [migrations.RunPython(add_kinds, migrations.RunPython.noop)]

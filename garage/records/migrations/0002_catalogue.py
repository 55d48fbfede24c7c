"""The parts the register tracks from the start."""

from django.db import migrations


def add_particulate_filter(apps, schema_editor):
    apps.get_model("records", "PartKind").objects.get_or_create(
        code="particulate_filter",
        defaults={
            "name": "particulate filter",
            "system": "exhaust_aftertreatment",
            # Independent technicians' rule of thumb for an original filter on a healthy engine;
            # 250 000 km and more on an original filter is met in practice.
            "normal_life_km": 320_000,
            "normal_life_source": "common practice, no source",
            "fitted_from_new": True,
        },
    )


class Migration(migrations.Migration):
    dependencies = [("records", "0001_facts")]

    # Reversing keeps the row: records may stand on it.
    operations = [migrations.RunPython(add_particulate_filter, migrations.RunPython.noop)]

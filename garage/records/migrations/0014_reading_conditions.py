"""Say the condition of older readings in the words now known; what has none goes to the note."""

from django.db import migrations

#: How conditions were written while they were free text.
SAID = (
    ("engine_off", ("engine off", "key on", "zero", "off", "koeo")),
    ("idle", ("idle", "tick")),
    ("raised", ("raised", "2500", "2 500", "3000", "3 000", "rpm", "fast")),
    ("load", ("load", "hill", "road")),
)
MODELLED = ("soot_mass", "ash_mass")
NOTE_CHARACTERS = 200


def condition_of(text):
    """The known condition that a free text begins to say, or None."""
    said = text.casefold()
    for condition, words in SAID:
        if any(word in said for word in words):
            return condition
    return None


def tell_conditions(apps, schema_editor):
    reading = apps.get_model("records", "Reading")
    reading.objects.filter(quantity__in=MODELLED).update(kind="modelled")
    for each in reading.objects.exclude(condition="").iterator():
        known = condition_of(each.condition)
        if known != each.condition:
            note = f"{each.condition}; {each.note}" if each.note else each.condition
            each.condition, each.note = known or "", note[:NOTE_CHARACTERS]
            each.save(update_fields=["condition", "note"])


class Migration(migrations.Migration):
    dependencies = [("records", "0013_evidence_facts")]

    operations = [migrations.RunPython(tell_conditions, migrations.RunPython.noop)]

"""An export is a verb of the audit trail.

On SQLite a constraint changes by writing the table anew, which drops its triggers: those that
make the trail append-only are set again.
"""

from importlib import import_module

from django.db import migrations, models

append_only = import_module("garage.records.migrations.0004_audit_append_only")

BEFORE = ["add", "change", "remove", "close", "reopen", "resolve", "merge", "unmerge", "import"]
AFTER = ["erase", "sign"]
LABELS = {
    "add": "added",
    "change": "changed",
    "remove": "removed",
    "close": "closed",
    "reopen": "opened again",
    "resolve": "resolved",
    "merge": "merged",
    "unmerge": "parted again",
    "import": "imported",
    "export": "exported",
    "erase": "erased",
    "sign": "confirmed",
}


def lay_down(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        append_only.allow(apps, schema_editor)


def take_up(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        append_only.refuse(apps, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("records", "0008_job_lines")]

    operations = [
        migrations.RunPython(lay_down, take_up),
        migrations.RemoveConstraint("auditentry", "audit_entry_verb_known"),
        migrations.AlterField(
            "auditentry",
            "verb",
            models.CharField(choices=list(LABELS.items()), max_length=20),
        ),
        migrations.AddConstraint(
            "auditentry",
            models.CheckConstraint(
                condition=models.Q(verb__in=[*BEFORE, "export", *AFTER]),
                name="audit_entry_verb_known",
            ),
        ),
        migrations.RunPython(take_up, lay_down),
    ]

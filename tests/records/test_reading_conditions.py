"""Older readings, whose condition was free text, are told in the words now known."""

from importlib import import_module

import pytest
from django.apps import apps

from garage.records.models import Reading
from tests.records.evidence_factories import ReadingFactory

migration = import_module("garage.records.migrations.0014_reading_conditions")


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("Key on, engine off", "engine_off"),
        ("warm idle", "idle"),
        ("2500 rpm, no load", "raised"),
        ("on the hill", "load"),
        ("Tuesday", None),
    ],
)
def test_condition_in_free_text_is_known_or_none(text: str, known: str | None) -> None:
    assert migration.condition_of(text) == known


@pytest.mark.django_db
def test_migration_of_known_conditions_changes_nothing_but_the_kind() -> None:
    idle = ReadingFactory(note="warm")
    soot = ReadingFactory(quantity="soot_mass", unit="g")
    migration.tell_conditions(apps, None)
    idle.refresh_from_db()
    assert (idle.condition, idle.note, idle.kind) == ("idle", "warm", "measured")
    assert Reading.objects.get(pk=soot.pk).kind == "modelled"


class OldReading:
    """A reading as it was before its conditions were known; the database now refuses such."""

    def __init__(self, condition: str, note: str = "") -> None:
        self.condition, self.note = condition, note

    def save(self, update_fields: list[str]) -> None:
        assert update_fields == ["condition", "note"]


class OldReadings:
    """Stands for the manager and the model of such readings."""

    def __init__(self, *rows: OldReading) -> None:
        self.rows, self.objects = rows, self

    def filter(self, **_: object) -> "OldReadings":
        return self

    def update(self, **said: object) -> None:
        assert said == {"kind": "modelled"}

    def exclude(self, **said: object) -> "OldReadings":
        assert said == {"condition": ""}
        return self

    def iterator(self) -> tuple[OldReading, ...]:
        return self.rows

    def get_model(self, app: str, name: str) -> "OldReadings":
        assert (app, name) == ("records", "Reading")
        return self


def test_migration_keeps_in_the_note_what_was_typed() -> None:
    known, strange = OldReading("at idle"), OldReading("Tuesday", "wet")
    long = OldReading("2500 rpm", "x" * 200)
    migration.tell_conditions(OldReadings(known, strange, long), None)
    assert (known.condition, known.note) == ("idle", "at idle")
    assert (strange.condition, strange.note) == ("", "Tuesday; wet")
    assert (long.condition, long.note) == ("raised", ("2500 rpm; " + "x" * 200)[:200])

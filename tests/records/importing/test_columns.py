"""The definitions of the columns against the specification, the models and the reference."""

from pathlib import Path

import pytest
from django.db import models

from garage.records.importing.columns import (
    CLUSTERS,
    FILE_KINDS,
    JOBS,
    ODOMETER,
    VEHICLES,
    FileKind,
    Form,
)
from garage.records.importing.reference import BEGIN, END, columns_as_markdown
from garage.records.models import (
    ClusterReplacement,
    Job,
    OdometerReading,
    Operation,
    RegistrationMark,
    Vehicle,
)

# Written out from the specification of the import, not from the code.
COLUMNS = {
    "vehicles": "vehicle_ref, vin, registration, engine_family, first_used_on, watched_from_new, "
    "duty, ended_on, ended_because",
    "clusters": "vehicle_ref, done_on, offset, unit, document",
    "odometer": "vehicle_ref, read_on, odometer, unit, source",
    "jobs": "job_ref, vehicle_ref, opened_on, closed_on, odometer, unit, planned, complaint, "
    "findings, cause, cause_note, system, operation, part_kind, position, part_origin, "
    "part_brand, part_mark, removed_because, found_in_place, repaired_elsewhere, "
    "last_sound_odometer, trouble_codes, labour_cost, parts_cost, tax_cost, currency, note, "
    "nth_alike",
}
CODES = {
    "operation": "inspect, clear_codes, regenerate_driving, regenerate_stationary, "
    "clean_on_vehicle, clean_off_vehicle, replace, repair, adjust, software_update, other, none",
    "cause": "injection, thermostat, recirculation, turbocharger, air_leak, exhaust_leak, "
    "catalyst, temperature_sensor, pressure_sensor, additive, burn_blocked, oil, coolant, "
    "use_pattern, not_reset, part_quality, cleaning_damage, fitting, wear, other, not_found",
    "part_origin": "factory, new_original, new_aftermarket, reconditioned, cleaned, used, unknown",
    "removed_because": "failed, sound, planned, damaged_by_other_fault, unknown",
    "found_in_place": "same, another",
    "unit": "km, mi",
    "ended_because": "sold, scrapped, left",
    "source": "job, inspection, keeper, onboard, telematics",
    "duty": "town, mixed, motorway, delivery, taxi, haulage, plant, other",
    "system": "exhaust_aftertreatment, air, recirculation, fuel, cooling, ignition_aid, engine, "
    "electrical, brakes, steering, service, other",
}
#: The model field in which the text of a column is kept, where another name or model holds it.
KEPT_IN: dict[str, tuple[type[models.Model], str]] = {
    "vehicle_ref": (Vehicle, "ref"),
    "registration": (RegistrationMark, "mark"),
    "engine_family": (Vehicle, "engine_family"),
    "document": (ClusterReplacement, "document"),
    "job_ref": (Job, "ref"),
    "complaint": (Job, "complaint"),
    "findings": (Job, "findings"),
    "cause_note": (Job, "cause_note"),
    "trouble_codes": (Job, "trouble_codes"),
    "part_kind": (Operation, "part_named"),
    "position": (Operation, "position"),
    "part_brand": (Operation, "part_brand"),
    "part_mark": (Operation, "part_mark"),
    "note": (Operation, "note"),
}


@pytest.mark.parametrize("kind", FILE_KINDS, ids=lambda kind: kind.name)
def test_columns_are_those_specified(kind: FileKind) -> None:
    assert ", ".join(kind.by_name) == COLUMNS[kind.name]


@pytest.mark.parametrize("kind", FILE_KINDS, ids=lambda kind: kind.name)
def test_codes_are_those_specified(kind: FileKind) -> None:
    stated = {column.name: ", ".join(column.values) for column in kind.columns if column.values}
    assert stated == {name: CODES[name] for name in kind.by_name if name in CODES}


def test_files_are_applied_after_what_they_refer_to() -> None:
    assert FILE_KINDS == (VEHICLES, CLUSTERS, ODOMETER, JOBS)


@pytest.mark.parametrize(
    ("kind", "column"),
    [
        (kind, column)
        for kind in FILE_KINDS
        for column in kind.columns
        if column.form in (Form.TEXT, Form.POSITION, Form.TROUBLE_CODES, Form.MARK)
    ],
    ids=lambda thing: thing.name,
)
def test_text_fits_the_field_that_keeps_it(kind: FileKind, column) -> None:
    model, name = KEPT_IN[column.name]
    kept = model._meta.get_field(name)
    if kept.is_relation:
        kept = kept.related_model._meta.get_field("name")
    assert column.max_length == kept.max_length


def test_source_of_a_reading_fits_its_field() -> None:
    kept = set(dict(OdometerReading._meta.get_field("source").choices))
    # An empty cell is kept as not known, and nothing else is.
    assert set(ODOMETER.by_name["source"].values) == kept - {"unknown"}


def test_reference_shows_the_definitions(repo: Path) -> None:
    text = (repo / "docs" / "import.md").read_text(encoding="utf-8")
    for kind in FILE_KINDS:
        begin, end = BEGIN.format(kind.name), END.format(kind.name)
        shown = text.partition(begin)[2].partition(end)[0].strip()
        assert shown == columns_as_markdown(kind), (
            "run `python -m garage.records.importing.reference docs/import.md`"
        )

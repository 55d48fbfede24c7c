"""Rules of one row of a jobs file: each case differs from a good row in one cell."""

import pytest

from garage.records.models import Job, Operation
from tests.records.importing.conftest import Importer, counts, faults
from tests.records.importing.test_jobs import HEAD, table

pytestmark = pytest.mark.usefixtures("vehicle")

GOOD = {
    "job_ref": "J1",
    "vehicle_ref": "V1",
    "opened_on": "2024-05-06",
    "odometer": "90000",
    "unit": "km",
    "system": "exhaust_aftertreatment",
    "operation": "replace",
    "part_kind": "particulate_filter",
    "part_origin": "new_original",
    "removed_because": "failed",
    "found_in_place": "same",
    "last_sound_odometer": "80000",
    "labour_cost": "1",
    "currency": "EUR",
}


def good_but(**cells: str) -> str:
    row = GOOD | cells
    return "|".join(row) + "\n" + "|".join(row.values())


@pytest.mark.parametrize(
    "cells",
    [
        {},
        {"operation": "clean_off_vehicle", "part_origin": ""},
        {"operation": "clean_off_vehicle", "part_origin": "cleaned"},
        {"operation": "replace", "part_origin": "cleaned"},
        {"operation": "inspect", "part_origin": "factory", "removed_because": ""},
        {"removed_because": ""},
        {"labour_cost": "", "currency": ""},
        {"labour_cost": "", "currency": "EUR"},
        {"odometer": "", "last_sound_odometer": "", "unit": ""},
        {"odometer": "", "last_sound_odometer": "", "unit": "mi"},
        {"odometer": "", "last_sound_odometer": "99999"},
        {"odometer": "80000"},
        {"part_kind": "", "found_in_place": ""},
        {"opened_on": "1950-01-01"},  # before any first use: the odometer's verdict deals with it
    ],
)
def test_good_rows_are_applied(importer: Importer, cells: dict[str, str]) -> None:
    summary = importer.one(jobs=good_but(**cells))
    assert faults(summary) == []
    assert counts(summary) == (1, 0, 0, 0)


@pytest.mark.parametrize(
    ("cells", "column", "rule"),
    [
        ({"part_origin": "factory"}, "part_origin", "not the factory's"),
        (
            {"operation": "clean_off_vehicle", "part_origin": "factory"},
            "part_origin",
            "goes back as cleaned",
        ),
        ({"operation": "clean_off_vehicle"}, "part_origin", "goes back as cleaned"),
        ({"operation": "inspect"}, "removed_because", "take a part out"),
        ({"operation": "repair"}, "removed_because", "take a part out"),
        ({"part_kind": ""}, "found_in_place", "is named"),
        ({"currency": ""}, "currency", "has a currency"),
        (
            {"labour_cost": "", "tax_cost": "3", "currency": ""},
            "currency",
            "has a currency",
        ),
        ({"tax_cost": "-3"}, "tax_cost", "not negative"),
        ({"cause": "gremlins"}, "cause", "must be one of"),
        ({"nth_alike": "second"}, "nth_alike", "whole number"),
        ({"unit": "", "last_sound_odometer": ""}, "unit", "a distance has a unit"),
        ({"unit": "", "odometer": ""}, "unit", "a distance has a unit"),
        ({"odometer": "79999"}, "last_sound_odometer", "not last sound after"),
        ({"odometer": "10000001"}, "odometer", "at most 10000000 km"),
        ({"odometer": "", "last_sound_odometer": "10000001"}, "last_sound_odometer", "at most"),
        ({"operation": ""}, "operation", "operation is needed"),
        ({"job_ref": ""}, "job_ref", "job_ref is needed"),
        ({"vehicle_ref": "V9"}, "vehicle_ref", "must be recorded"),
        ({"system": "chassis"}, "system", "must be one of"),
    ],
)
def test_row_that_breaks_a_rule_is_rejected(
    importer: Importer, cells: dict[str, str], column: str, rule: str
) -> None:
    summary = importer.one(jobs=good_but(**cells))
    assert counts(summary) == (0, 0, 0, 1)
    (fault,) = faults(summary)
    assert fault[1] == column
    assert rule in fault[2]
    assert not Job.objects.exists()


def test_last_sound_odometer_takes_the_unit_of_the_job(importer: Importer) -> None:
    text = table(
        f"{HEAD}|odometer|unit|part_kind|last_sound_odometer",
        "J1|V1|2024-05-06|fuel|inspect|90000|mi||",
        "J1|||exhaust_aftertreatment|replace|||particulate_filter|80000",
    )
    assert counts(importer.one(jobs=text)) == (2, 0, 0, 0)
    assert Operation.objects.get(line=2).last_sound_km == 128_748


@pytest.mark.parametrize("operation", ["replace", "clean_off_vehicle"])
@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_part_of_one_position_comes_out_once_a_job(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, operation: str, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    text = table(
        f"{HEAD}|part_kind|position|removed_because",
        f"J1|V1|2024-05-06||{operation}|particulate_filter||failed",
        f"J1||||{operation}|particulate_filter||sound",
        f"J1||||{operation}|particulate_filter|bank 2|sound",
        f"J1||||{operation}|||sound",
        f"J1||||{operation}|||failed",
    )
    summary = importer.one(jobs=text)
    assert counts(summary) == (4, 0, 0, 1)
    (fault,) = faults(summary)
    assert fault[:2] == ("3", "operation")
    assert "removed_because failed" in fault[3]


def test_part_may_be_cleaned_and_then_replaced_in_one_job(importer: Importer) -> None:
    text = table(
        f"{HEAD}|part_kind",
        "J1|V1|2024-05-06||clean_off_vehicle|particulate_filter",
        "J1||||replace|particulate_filter",
    )
    assert counts(importer.one(jobs=text)) == (2, 0, 0, 0)

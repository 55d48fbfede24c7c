"""Rows of the odometer and clusters files."""

from datetime import date
from decimal import Decimal

import pytest

from garage.records.importing.rows import Outcome
from garage.records.models import ClusterReplacement, OdometerReading, Vehicle
from tests.records.factories import OrganisationFactory, VehicleFactory
from tests.records.importing.conftest import Importer, counts, faults

pytestmark = pytest.mark.usefixtures("vehicle")

READINGS = """
vehicle_ref | read_on    | odometer | unit | source
V1          | 2020-01-01 | 10000    | km   | inspection
V1          | 2021-01-01 | 25000.5  | km   | keeper
"""
CLUSTER = """
vehicle_ref | done_on    | offset | unit | document
V1          | 2020-06-01 | 15000  | km   | invoice 7
"""


def test_reading_is_recorded_as_typed(importer: Importer) -> None:
    summary = importer.one(odometer=READINGS)
    assert counts(summary) == (2, 0, 0, 0)
    assert summary.recorded == {"odometer readings": 2}
    reading = OdometerReading.objects.get(read_on=date(2021, 1, 1))
    assert (reading.typed, reading.unit, reading.source) == (Decimal("25000.5"), "km", "keeper")
    assert (reading.km, reading.job) == (25_000, None)


def test_miles_become_kilometres_once(importer: Importer) -> None:
    importer(odometer=READINGS.replace("10000    | km", "10000    | mi"))
    # 10 000 international miles of 1.609344 km, NIST SP 811.
    assert OdometerReading.objects.get(unit="mi").km == 16_093


def test_same_readings_again_change_nothing(importer: Importer) -> None:
    importer(odometer=READINGS)
    assert counts(importer.one(odometer=READINGS)) == (0, 2, 0, 0)
    assert OdometerReading.objects.count() == 2


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_repeated_reading_is_skipped_wherever_it_stands(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    text = READINGS + "V1|2020-01-01|10000.0|km|inspection\nV1|2020-01-01|10000|km|keeper"
    assert counts(importer.one(odometer=text)) == (3, 0, 1, 0)


def test_reading_equal_to_a_jobs_reading_is_recorded_already(importer: Importer) -> None:
    importer(
        jobs="job_ref|vehicle_ref|opened_on|operation|system|odometer|unit\n"
        "J1|V1|2020-01-01|inspect|fuel|10000|km"
    )
    text = READINGS.replace("inspection", "job")
    assert counts(importer.one(odometer=text)) == (1, 1, 0, 0)


def test_readings_are_settled(importer: Importer) -> None:
    text = READINGS + "V1|2022-01-01|2600|km|keeper\nV1|2023-01-01|50000|km|keeper"
    importer(odometer=text)
    doubts = dict(OdometerReading.objects.values_list("read_on", "doubt"))
    assert doubts[date(2022, 1, 1)]
    assert not doubts[date(2023, 1, 1)]


@pytest.mark.parametrize(
    ("row", "column", "rule"),
    [
        ("V9|2020-01-01|1|km|keeper", "vehicle_ref", "must be recorded for this organisation"),
        ("|2020-01-01|1|km|keeper", "vehicle_ref", "vehicle_ref is needed"),
        ("V1||1|km|keeper", "read_on", "read_on is needed"),
        ("V1|2020-01-01||km|keeper", "odometer", "odometer is needed"),
        ("V1|2020-01-01|1||keeper", "unit", "unit is needed"),
        ("V1|2020-01-01|1|km|hearsay", "source", "must be one of job, inspection"),
        ("V1|2020-01-01|10000001|km|keeper", "odometer", "at most 10000000 km"),
        ("V1|2020-01-01|9000000|mi|keeper", "odometer", "at most 10000000 km"),
        ("V1|2027-01-01|1|km|keeper", "read_on", "future"),
    ],
)
def test_reading_that_does_not_hold_is_rejected(
    importer: Importer, row: str, column: str, rule: str
) -> None:
    summary = importer.one(odometer=READINGS + row)
    assert counts(summary) == (2, 0, 0, 1)
    (fault,) = faults(summary)
    assert fault[0] == "4"
    assert fault[1] == column
    assert rule in fault[2]


def test_vehicle_of_another_organisation_is_not_found(importer: Importer) -> None:
    VehicleFactory(organisation=OrganisationFactory(), ref="theirs")
    summary = importer.one(odometer=READINGS.replace("V1", "theirs"))
    assert counts(summary) == (0, 0, 0, 2)


def test_cluster_replacement_shifts_the_readings_after_it(importer: Importer) -> None:
    importer(odometer=READINGS)
    assert counts(importer.one(clusters=CLUSTER)) == (1, 0, 0, 0)
    replacement = ClusterReplacement.objects.get()
    assert (replacement.offset_km, replacement.document) == (15_000, "invoice 7")
    assert list(OdometerReading.objects.order_by("read_on").values_list("km", flat=True)) == [
        10_000,
        40_000,
    ]


def test_cluster_offset_may_be_negative_and_in_miles(importer: Importer) -> None:
    importer(clusters=CLUSTER.replace("15000  | km", "-1000 | mi"))
    assert ClusterReplacement.objects.get().offset_km == -1609


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_same_replacement_again_changes_nothing(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    assert counts(importer.one(clusters=CLUSTER + "V1|2020-06-01|15000|km|")) == (1, 0, 1, 0)
    assert counts(importer.one(clusters=CLUSTER)) == (0, 1, 0, 0)


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_document_named_later_is_added(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    text = CLUSTER.replace("invoice 7", "") + "V1|2020-06-01|15000|km|invoice 8"
    assert counts(importer.one(clusters=text)) == (2, 0, 0, 0)
    assert ClusterReplacement.objects.get().document == "invoice 8"


@pytest.mark.parametrize(
    ("row", "column", "got"),
    [
        ("V1|2020-06-01|16000|km|invoice 7", "offset", "16000 km, recorded is 15000.00 km"),
        ("V1|2020-06-01|15000|mi|invoice 7", "offset", "15000 mi, recorded is 15000.00 km"),
        ("V1|2020-06-01|15000|km|letter", "document", "letter, recorded is invoice 7"),
        ("V1|2020-07-01|-20000000|km|", "offset", "20000000 km"),
        ("V9|2020-07-01|1|km|", "vehicle_ref", "V9"),
    ],
)
def test_replacement_that_does_not_hold_is_rejected(
    importer: Importer, row: str, column: str, got: str
) -> None:
    importer(clusters=CLUSTER)
    summary = importer.one(clusters=CLUSTER + row)
    assert counts(summary) == (0, 1, 0, 1)
    assert [fault[1] for fault in faults(summary)] == [column]
    assert got in faults(summary)[0][3]
    assert Vehicle.objects.count() == 1


@pytest.mark.parametrize("row", ["V1|2020-01-01|100|km|", "V1|2020-01-01|100|km|keeper"])
def test_reading_without_a_source_is_kept_as_not_known(importer: Importer, row: str) -> None:
    summary = importer.one(odometer=READINGS + row)
    assert counts(summary) == (3, 0, 0, 0)
    named = row.rpartition("|")[2]
    assert OdometerReading.objects.get(typed=100).source == (named or "unknown")


@pytest.mark.parametrize("remembered", [0, 2, 100])
def test_vehicles_are_found_however_many_are_remembered(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, remembered: int
) -> None:
    monkeypatch.setattr("garage.records.importing.context.VEHICLES_REMEMBERED", remembered)
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 2)
    importer(vehicles="vehicle_ref\n" + "\n".join(f"V{number}" for number in range(5)))
    asked = ["V0", "V1", "V2", "V9", "V0", "V3", "V4", "V8", "V1", "V2"]
    rows = [f"{ref}|2024-01-{day:02}|{day}000|km" for day, ref in enumerate(asked, 1)]
    summary = importer.one(odometer="\n".join(["vehicle_ref|read_on|odometer|unit", *rows]))
    assert (summary.outcomes[Outcome.APPLIED], summary.outcomes[Outcome.REJECTED]) == (8, 2)
    found = OdometerReading.objects.order_by("read_on").values_list("vehicle__ref", flat=True)
    assert list(found) == [ref for ref in asked if ref not in ("V8", "V9")]

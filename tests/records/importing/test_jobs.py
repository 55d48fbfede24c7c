"""Rows of a jobs file: jobs, their operations, and what contradicts."""

from datetime import date
from decimal import Decimal

import pytest

from garage.records.choices import FitmentStart, Origin, RemovedBecause
from garage.records.models import Fitment, Job, OdometerReading, Operation
from tests.records.factories import OrganisationFactory, PartKindFactory, VehicleFactory
from tests.records.importing.conftest import Importer, counts, faults

pytestmark = pytest.mark.usefixtures("vehicle")

HEAD = "job_ref|vehicle_ref|opened_on|system|operation"
INSPECT = f"{HEAD}\nJ1|V1|2024-05-06|fuel|inspect"


def table(columns: str, *rows: str) -> str:
    return "\n".join([columns, *rows])


def rejection(importer: Importer, text: str) -> tuple[str, str, str]:
    """Column, rule and what came, of the only rejected row."""
    (fault,) = faults(importer.one(jobs=text))
    return fault[1], fault[2], fault[3]


def test_job_is_recorded_with_all_that_is_known(importer: Importer) -> None:
    summary = importer.one(
        jobs="job_ref|vehicle_ref|opened_on|closed_on|odometer|unit|planned|complaint|system|"
        "operation|part_kind|position|part_origin|part_brand|removed_because|found_in_place|"
        "repaired_elsewhere|last_sound_odometer|trouble_codes|labour_cost|parts_cost|currency|note|"
        "findings|cause|cause_note|part_mark|tax_cost\n"
        "J1|V1|2024-05-06|2024-05-08|90000|mi|no|no power|exhaust_aftertreatment|replace|"
        "particulate_filter|bank 1|new_aftermarket|Quill|failed|same|fuel air|80000|P2002 P2463|"
        "120.5|640|EUR|cracked|soot on the far side|injection|cylinder 2|Q-77|144.5"
    )
    assert counts(summary) == (1, 0, 0, 0)
    assert summary.recorded == {"jobs": 1, "operations": 1, "odometer readings": 1}
    job = Job.objects.get(organisation=importer.organisation, ref="J1")
    assert job.vehicle.ref == "V1"
    assert (job.opened_on, job.closed_on) == (date(2024, 5, 6), date(2024, 5, 8))
    assert (job.planned, job.complaint, job.trouble_codes) == (False, "no power", "P2002 P2463")
    assert job.repaired_elsewhere == ["air", "fuel"]
    assert (job.findings, job.cause, job.cause_note) == (
        "soot on the far side",
        "injection",
        "cylinder 2",
    )
    reading = job.reading
    assert (reading.typed, reading.unit, reading.source) == (Decimal(90_000), "mi", "job")
    assert (reading.read_on, reading.km) == (job.opened_on, 144_841)
    operation = job.operations.get()
    assert (operation.line, operation.kind, operation.part_kind.code) == (
        1,
        "replace",
        "particulate_filter",
    )
    assert (operation.position, operation.part_origin, operation.part_brand) == (
        "bank 1",
        "new_aftermarket",
        "Quill",
    )
    assert (operation.removed_because, operation.found_in_place) == ("failed", "same")
    assert operation.last_sound_km == 128_748  # 80 000 miles of 1.609344 km
    assert (operation.labour_cost, operation.parts_cost, operation.currency) == (
        Decimal("120.50"),
        Decimal(640),
        "EUR",
    )
    assert (operation.tax_cost, operation.part_mark) == (Decimal("144.50"), "Q-77")
    assert operation.note == "cracked"


def test_job_is_recorded_with_the_least(importer: Importer) -> None:
    importer(jobs=INSPECT)
    job = Job.objects.get()
    assert (job.closed_on, job.planned, job.complaint, job.trouble_codes) == (None, None, "", "")
    assert job.repaired_elsewhere is None
    assert not OdometerReading.objects.exists()


def test_rows_of_one_job_need_not_stand_together(
    importer: Importer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 2)
    summary = importer.one(
        jobs=table(
            HEAD,
            "J1|V1|2024-05-06|fuel|inspect",
            "J2|V1|2024-06-06|air|inspect",
            "J2||||clear_codes",
            "J1||||clear_codes",
            "J1|V1|2024-05-06|electrical|repair",
        )
    )
    assert counts(summary) == (5, 0, 0, 0)
    assert list(Operation.objects.filter(job__ref="J1").values_list("line", "kind", "system")) == [
        (1, "inspect", "fuel"),
        (2, "clear_codes", "fuel"),
        (3, "repair", "electrical"),
    ]
    assert Job.objects.get(ref="J1").system == "fuel"


def test_system_of_the_first_row_may_come_from_the_part_kind(importer: Importer) -> None:
    PartKindFactory(code="turbocharger", system="air")
    importer(jobs=f"{HEAD}|part_kind\nJ1|V1|2024-05-06||inspect|TurboCharger\nJ1||||inspect|")
    assert Job.objects.get().system == "air"
    assert list(Operation.objects.values_list("system", flat=True)) == ["air", "air"]


@pytest.mark.parametrize("part", ["", "alternator"])
def test_first_row_without_any_system_is_rejected(importer: Importer, part: str) -> None:
    column, rule, _ = rejection(importer, f"{HEAD}|part_kind\nJ1|V1|2024-05-06||inspect|{part}")
    assert (column, rule) == (
        "system",
        "the first row of a job names its system, or a part kind of the catalogue",
    )


def test_part_outside_the_catalogue_keeps_its_operation(importer: Importer) -> None:
    summary = importer.one(
        jobs=f"{HEAD}|part_kind\nJ1|V1|2024-05-06|fuel|replace|particulate_fliter"
    )
    operation = Operation.objects.get()
    assert (operation.part_kind, operation.part_named) == (None, "particulate_fliter")
    assert not Fitment.objects.exists()
    (notice,) = summary.notices
    assert notice == (
        "parts outside the catalogue, kept without following their lives: "
        "particulate_fliter (1 rows, perhaps particulate_filter)"
    )


def test_replace_ends_a_life_and_begins_the_next(importer: Importer) -> None:
    importer(
        jobs=table(
            f"{HEAD}|odometer|unit|part_kind|part_origin|removed_because",
            "J1|V1|2024-05-06||replace|100000|km|particulate_filter|new_original|failed",
            "J2|V1|2025-05-06||replace|130000|km|particulate_filter|reconditioned|failed",
        )
    )
    first, second, third = Fitment.objects.order_by("id")
    assert (first.start, first.removed_km) == (FitmentStart.UNKNOWN, 100_000)
    assert (second.origin, second.fitted_km, second.removed_km) == (
        Origin.NEW_ORIGINAL,
        100_000,
        130_000,
    )
    assert second.removed_because == RemovedBecause.FAILED
    assert (third.origin, third.removed_at) == (Origin.RECONDITIONED, None)


# --- the same again ---


def test_same_file_again_changes_nothing(importer: Importer) -> None:
    text = table(
        f"{HEAD}|odometer|unit|labour_cost|currency|repaired_elsewhere|last_sound_odometer",
        "J1|V1|2024-05-06|fuel|inspect|90000.5|mi|10.10|EUR|none|80000",
        "J1||||clear_codes||||||",
    )
    importer(jobs=text)
    before = list(Operation.objects.values()), list(Job.objects.values())
    assert counts(importer.one(jobs=text)) == (0, 2, 0, 0)
    assert (list(Operation.objects.values()), list(Job.objects.values())) == before


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_row_equal_to_one_of_its_job_is_skipped_and_counted(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    text = table(INSPECT, "J1||||inspect", "J2|V1|2024-05-06|fuel|inspect")
    assert counts(importer.one(jobs=text)) == (2, 0, 1, 0)
    assert counts(importer.one(jobs=text + "\nJ1||||adjust\nJ1||||adjust")) == (1, 3, 1, 0)


def test_later_file_adds_rows_and_facts_to_a_recorded_job(importer: Importer) -> None:
    importer(jobs=INSPECT)
    summary = importer.one(
        jobs="job_ref|closed_on|planned|operation|odometer|unit\n"
        "J1|2024-05-09|no|inspect|5000|km\nJ1|||adjust||"
    )
    assert counts(summary) == (2, 0, 0, 0)
    assert summary.recorded == {"jobs": 0, "operations": 1, "odometer readings": 1}
    job = Job.objects.get()
    assert (job.closed_on, job.planned) == (date(2024, 5, 9), False)
    assert list(job.operations.values_list("line", "kind")) == [(1, "inspect"), (2, "adjust")]


def test_fuller_row_of_a_later_file_completes_the_recorded_operation(importer: Importer) -> None:
    columns = f"{HEAD}|part_kind|part_brand|labour_cost|currency|note"
    plain = table(columns, "J1|V1|2024-05-06||replace|particulate_filter||||")
    full = table(columns, "J1|V1|2024-05-06||replace|particulate_filter|Quill|80|EUR|")
    importer(jobs=plain)
    assert counts(importer.one(jobs=full)) == (1, 0, 0, 0)
    operation = Operation.objects.get()
    assert (operation.part_brand, operation.labour_cost) == ("Quill", Decimal(80))
    # The older, emptier export says nothing more, and does not take anything back.
    assert counts(importer.one(jobs=plain)) == (0, 1, 0, 0)
    assert counts(importer.one(jobs=full)) == (0, 1, 0, 0)


def test_rows_of_one_file_do_not_complete_one_another(importer: Importer) -> None:
    text = table(f"{HEAD}|note", "J1|V1|2024-05-06|fuel|other|", "J1||||other|hoses")
    assert counts(importer.one(jobs=text)) == (2, 0, 0, 0)
    assert sorted(Operation.objects.values_list("note", flat=True)) == ["", "hoses"]
    assert counts(importer.one(jobs=text)) == (0, 2, 0, 0)


def test_operation_claimed_by_its_own_row_is_not_completed_by_another(importer: Importer) -> None:
    importer(jobs=table(f"{HEAD}|note", "J1|V1|2024-05-06|fuel|other|"))
    text = table(f"{HEAD}|note", "J1|V1|2024-05-06|fuel|other|", "J1||||other|hoses")
    assert counts(importer.one(jobs=text)) == (1, 1, 0, 0)
    assert sorted(Operation.objects.values_list("note", flat=True)) == ["", "hoses"]


def test_later_file_tells_what_was_found_and_why(importer: Importer) -> None:
    importer(jobs=INSPECT)
    text = "job_ref|operation|findings|cause|cause_note\nJ1|inspect|soot|injection|cylinder 2"
    assert counts(importer.one(jobs=text)) == (1, 0, 0, 0)
    job = Job.objects.get()
    assert (job.findings, job.cause, job.cause_note) == ("soot", "injection", "cylinder 2")
    assert counts(importer.one(jobs=text)) == (0, 1, 0, 0)


# --- alike ---

ALIKE = table(
    f"{HEAD}|note|nth_alike",
    "J1|V1|2024-05-06|fuel|inspect||",
    "J1||||adjust||",
    "J1||||inspect||2",
    "J1||||inspect||3",
)


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_operations_alike_are_numbered(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    assert counts(importer.one(jobs=ALIKE)) == (4, 0, 0, 0)
    kinds = ["inspect", "adjust", "inspect", "inspect"]
    assert list(Operation.objects.order_by("line").values_list("kind", flat=True)) == kinds
    assert counts(importer.one(jobs=ALIKE)) == (0, 4, 0, 0)
    fuller = ALIKE.replace("inspect||2", "inspect|hoses|")
    assert counts(importer.one(jobs=fuller)) == (1, 3, 0, 0)
    notes = ["", "", "", "hoses"]
    assert sorted(Operation.objects.values_list("note", flat=True)) == notes


def test_operation_numbered_beyond_its_equals_is_rejected(importer: Importer) -> None:
    summary = importer.one(jobs=ALIKE.replace("inspect||2", "repair||"))
    assert counts(summary) == (3, 0, 0, 1)
    (fault,) = faults(summary)
    assert (fault[0], fault[1]) == ("5", "nth_alike")
    assert fault[3] == "3, the job has 1 before it"


def test_part_of_one_position_comes_out_once_however_numbered(importer: Importer) -> None:
    text = table(
        f"{HEAD}|part_kind|nth_alike",
        "J1|V1|2024-05-06||replace|particulate_filter|",
        "J1||||replace|particulate_filter|2",
    )
    summary = importer.one(jobs=text)
    assert counts(summary) == (1, 0, 0, 1)
    assert faults(summary)[0][3] == "replace again; the row before has the same in all columns"


# --- rows of the job alone ---


@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_row_without_operation_tells_of_the_job_alone(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, chunk_rows: int
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    text = table(
        f"{HEAD}|odometer|unit|complaint",
        "J1|V1|2024-05-06|fuel|none|5000|km|no power",
        "J1|V1|2024-05-06|fuel|none|5000|km|no power",
        "J2|V1|2024-06-06|fuel|none|||",
        "J2||||inspect|||",
    )
    summary = importer.one(jobs=text)
    assert counts(summary) == (3, 0, 1, 0)
    assert summary.recorded == {"jobs": 2, "operations": 1, "odometer readings": 1}
    job = Job.objects.get(ref="J1")
    assert (job.system, job.complaint) == ("fuel", "no power")
    assert not job.operations.exists()
    assert counts(importer.one(jobs=text)) == (0, 4, 0, 0)
    told = "job_ref|operation|closed_on\nJ1|none|2024-05-07"
    assert counts(importer.one(jobs=told)) == (1, 0, 0, 0)
    assert Job.objects.get(ref="J1").closed_on == date(2024, 5, 7)


def test_row_of_the_job_alone_names_no_part_and_no_cost(importer: Importer) -> None:
    (fault,) = faults(
        importer.one(jobs=f"{HEAD}|part_kind|note\nJ1|V1|2024-05-06|fuel|none|particulate_filter|x")
    )
    assert fault[1] == "note | part_kind"
    assert fault[3] == "x with none | particulate_filter with none"
    assert not Job.objects.exists()


# --- contradictions ---


@pytest.mark.parametrize(
    ("column", "first", "then", "got"),
    [
        ("opened_on", "2024-05-06", "2024-05-07", "2024-05-07, an earlier row's 2024-05-06 stands"),
        ("closed_on", "2024-05-08", "2024-05-09", "2024-05-09, an earlier row's 2024-05-08 stands"),
        ("planned", "no", "yes", "yes, an earlier row's no stands"),
        ("complaint", "no power", "smoke", "smoke, an earlier row's no power stands"),
        ("findings", "soot", "oil", "oil, an earlier row's soot stands"),
        ("cause", "wear", "oil", "oil, an earlier row's wear stands"),
        ("cause_note", "ash", "soot", "soot, an earlier row's ash stands"),
        ("repaired_elsewhere", "none", "fuel", "fuel, an earlier row's none stands"),
        ("trouble_codes", "P2002", "P2463", "P2463, an earlier row's P2002 stands"),
        ("odometer", "5000", "5001", "5001 km, an earlier row's 5000 km stands"),
    ],
)
@pytest.mark.parametrize("chunk_rows", [1, 900])
def test_rows_of_one_job_agree(
    importer: Importer,
    monkeypatch: pytest.MonkeyPatch,
    column: str,
    first: str,
    then: str,
    got: str,
    chunk_rows: int,
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", chunk_rows)
    head = "job_ref|vehicle_ref|system|operation|unit"
    opened = "" if column == "opened_on" else "|opened_on"
    day = "" if column == "opened_on" else "|2024-05-06"
    text = table(
        f"{head}|{column}{opened}",
        f"J1|V1|fuel|inspect|km|{first}{day}",
        f"J1|||adjust|km|{then}{'|' if opened else ''}",
        f"J1|||clear_codes|km|{first}{'|' if opened else ''}",
    )
    summary = importer.one(jobs=text)
    assert counts(summary) == (2, 0, 0, 1)
    (fault,) = faults(summary)
    assert fault[:3] == ("3", column, f"the rows of one job agree in {column}")
    assert fault[3].replace(".00", "") == got


def test_unit_of_the_reading_is_part_of_it(importer: Importer) -> None:
    text = table(
        f"{HEAD}|odometer|unit",
        "J1|V1|2024-05-06|fuel|inspect|5000|km",
        "J1||||adjust|5000|mi",
        "J1||||repair||mi",
    )
    assert counts(importer.one(jobs=text)) == (2, 0, 0, 1)


def test_job_belongs_to_one_vehicle(importer: Importer) -> None:
    importer(vehicles="vehicle_ref\nV2")
    importer(jobs=INSPECT)
    column, rule, got = rejection(importer, f"{HEAD}\nJ1|V2|2024-05-06|fuel|adjust")
    assert (column, rule) == ("vehicle_ref", "one job_ref belongs to one vehicle")
    assert got == "V2, the job is recorded for V1"


def test_same_job_ref_at_another_organisation_is_another_job(importer: Importer) -> None:
    importer(jobs=INSPECT)
    other = Importer(OrganisationFactory(), importer.folder)
    other(vehicles="vehicle_ref\nV1")
    assert counts(other.one(jobs=INSPECT)) == (1, 0, 0, 0)
    assert Job.objects.filter(ref="J1").count() == 2


def test_vehicle_of_another_organisation_is_not_found(importer: Importer) -> None:
    VehicleFactory(organisation=OrganisationFactory(), ref="theirs")
    column, rule, _ = rejection(importer, f"{HEAD}\nJ1|theirs|2024-05-06|fuel|inspect")
    assert column == "vehicle_ref"
    assert "recorded for this organisation" in rule


@pytest.mark.parametrize(
    ("row", "column"),
    [("J1||2024-05-06|fuel|inspect", "vehicle_ref"), ("J1|V1||fuel|inspect", "opened_on")],
)
def test_first_row_names_vehicle_and_day(importer: Importer, row: str, column: str) -> None:
    assert rejection(importer, f"{HEAD}\n{row}")[:2] == (
        column,
        f"the first row of a job has {column}",
    )


def test_later_row_of_a_rejected_first_row_says_so(importer: Importer) -> None:
    text = table(HEAD, "J1|V1|2024-05-06|fuel|weld", "J1||||inspect")
    summary = importer.one(jobs=text)
    assert counts(summary) == (0, 0, 0, 2)
    assert faults(summary)[1][3] == " | ".join(
        ["an empty cell; the job's row on line 2 was rejected"] * 2 + ["an empty cell"]
    )
    corrected = importer.folder / "jobs.csv.rejected.csv"
    corrected.write_text(corrected.read_text().replace("weld", "repair"))
    assert counts(importer.one(jobs=corrected)) == (2, 0, 0, 0)


def test_closed_before_opened_is_rejected(importer: Importer) -> None:
    text = f"{HEAD}|closed_on\nJ1|V1|2024-05-06|fuel|inspect|2024-05-05"
    assert rejection(importer, text)[0] == "closed_on"
    importer(jobs=INSPECT)
    later = "job_ref|operation|closed_on\nJ1|inspect|2024-05-05"
    assert rejection(importer, later)[0] == "closed_on"
    assert Job.objects.get().closed_on is None


def test_all_faults_of_a_row_are_named_at_once(importer: Importer) -> None:
    (fault,) = faults(
        importer.one(
            jobs=f"{HEAD}|odometer|labour_cost|removed_because\n"
            "J1|V9|06.05.2024|fuel|inspect|12,000|5|failed"
        )
    )
    assert fault[1].split(" | ") == [
        "opened_on",
        "odometer",
        "vehicle_ref",
        "removed_because",
        "currency",
    ]

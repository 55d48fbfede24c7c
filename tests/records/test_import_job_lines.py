"""A table's free text becomes operations, or waits for a person and lands once answered."""

import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.management import call_command

from garage.records.models import Job, LineToReview, Operation, Organisation
from garage.records.services.job_lines import LineMeaning, line_answer
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)

TABLE = """Vehicle,Date,Job No,Work,Labour,Currency
V1,2024-02-13,J1,Diagnostic check carried out,40.00,EUR
V1,2024-02-13,J1,"R&R DPF, codes cleared, advise turbo",300.00,EUR
V2,2024-02-14,J2,DPF cleaned,90.00,EUR
V2,2024-02-14,J2,replaced injectors 1 and 3,200.00,EUR
V3,2024-02-15,J3,customer reports loss of power,0.00,EUR
V4,2024-02-16,J4,dpf delete,500.00,EUR
"""


@pytest.fixture(autouse=True)
def organisation() -> Organisation:
    return OrganisationFactory(code="alder")


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "till.csv"
    path.write_text(TABLE)
    return path


def run(table: Path, *words: object) -> int:
    """Import by a mapping of the free text to job lines; the exit code."""
    mapping = table.with_suffix(".json")
    columns = {
        "vehicle_ref": "Vehicle",
        "opened_on": "Date",
        "closed_on": "Date",
        "job_ref": "Job No",
        "job_line": "Work",
        "labour_cost": "Labour",
        "currency": "Currency",
    }
    uses = [{"column": ours, "sources": [theirs]} for ours, theirs in columns.items()]
    vehicles = [{"column": "vehicle_ref", "sources": ["Vehicle"]}]
    kinds = [{"kind": "vehicles", "columns": vehicles}, {"kind": "jobs", "columns": uses}]
    said = {"version": 1, "headers": TABLE.splitlines()[0].split(","), "kinds": kinds}
    mapping.write_text(json.dumps(said))
    try:
        call_command(
            "import_table",
            *map(str, (table, "--mapping", mapping, *words)),
            *("--organisation", "alder", "--as-of=2026-06-01"),
            f"--into={table.parent / 'out'}",
        )
    except SystemExit as left:
        return int(str(left.code))
    return 0


def operations(ref: str) -> list[tuple[str, str, str, str]]:
    rows = Operation.objects.filter(job__ref=ref).order_by("line")
    return [
        (row.kind, row.part_kind.code if row.part_kind else "", row.position, row.system)
        for row in rows
    ]


def test_done_results_become_operations_and_questions_wait(table: Path, capsys) -> None:
    assert run(table) == 3

    aftertreatment = "exhaust_aftertreatment"
    assert operations("J1") == [
        # The job's system, from its other line: the text of this one names none.
        ("inspect", "", "", aftertreatment),
        ("replace", "particulate_filter", "", aftertreatment),
        ("clear_codes", "", "", aftertreatment),
    ]
    assert operations("J2") == [
        ("replace", "injector", "cyl 1", "fuel"),
        ("replace", "injector", "cyl 3", "fuel"),
    ]
    assert Job.objects.filter(ref="J3").exists()
    assert operations("J3") == []
    assert not Job.objects.filter(ref="J4").exists()
    assert {line.phrase for line in LineToReview.objects.all()} == {"dpf cleaned", "dpf delete"}
    told = capsys.readouterr().out
    assert "2 different job lines wait for a person" in told
    assert "not recorded, for it was not done: 1 advised" in told
    with (table.parent / "out" / "held.csv").open() as file:
        held = {row["source_cell"]: row["reason"] for row in csv.DictReader(file)}
    assert held["DPF cleaned"].startswith("Was it cleaned on the vehicle or off it?")


def test_costs_of_a_line_are_recorded_once_and_its_text_with_each_result(table: Path) -> None:
    run(table)

    rows = Operation.objects.filter(job__ref="J1", note__startswith="R&R").order_by("line")
    assert [row.labour_cost for row in rows] == [300, None]
    assert {row.note for row in rows} == {"R&R DPF, codes cleared, advise turbo"}


def test_answered_line_lands_when_the_table_comes_again(table: Path, capsys) -> None:
    run(table)
    for line in LineToReview.objects.all():
        is_clean = line.phrase == "dpf cleaned"
        cleaned = LineMeaning("done", "clean_off_vehicle", "particulate_filter")
        line_answer(line=line, meanings=[cleaned] if is_clean else [], at=AT)
    before = Operation.objects.count()

    assert run(table) == 0
    assert Operation.objects.count() == before + 1
    assert ("clean_off_vehicle", "particulate_filter") in {each[:2] for each in operations("J2")}
    assert Job.objects.filter(ref="J4").exists()
    assert not LineToReview.objects.filter(answered=False)
    assert run(table) == 0
    assert Operation.objects.count() == before + 1


def test_lines_wait_even_where_nothing_lands(table: Path) -> None:
    lines = TABLE.splitlines()
    table.write_text("\n".join([lines[0], lines[3]]) + "\n")

    run(table)

    assert LineToReview.objects.get().phrase == "dpf cleaned"
    assert not Job.objects.exists()


def test_dry_run_lets_no_line_wait(table: Path) -> None:
    run(table, "--dry-run")

    assert not LineToReview.objects.exists()
    assert not Job.objects.exists()


def test_line_of_strange_words_waits_and_is_not_taken_for_nothing(table: Path) -> None:
    lines = TABLE.splitlines()
    strange = "V5,2024-02-17,J5,zorb flanged wuzzle gribble,1.00,EUR"
    table.write_text("\n".join([*lines[:3], strange]) + "\n")

    assert run(table) == 3
    assert LineToReview.objects.get().guess == []

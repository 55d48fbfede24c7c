"""A messy table becomes records, by a mapping that a person has confirmed."""

import json
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from garage.records.models import AuditEntry, ImportSource, Job, OdometerReading, Vehicle
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

#: As many a till writes it: semicolons, decimal commas, an old code page, a title, a sum.
MESSY = """Auswertung Werkstatt;;;;
;;;;
Vehicle;Date;Mileage (km);Reg No;Amount
V1;13.02.2024;84.512;QX 1;120,50
V2;14.02.2024;91.003;QX Ü2;80,00
V1;20.08.2024;99.870;QX 1;12,00
Total;;;;212,50
"""


@pytest.fixture(autouse=True)
def organisation():
    return OrganisationFactory(code="alder")


def run(*words: object) -> None:
    call_command("import_table", *map(str, words), "--organisation", "alder", "--as-of=2026-06-01")


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "till.csv"
    path.write_bytes(MESSY.encode("cp1252"))
    return path


def confirmed(table: Path) -> Path:
    """The mapping as proposed, with what the file cannot prove answered by a person."""
    mapping = table.with_suffix(".json")
    run(table, "--propose", mapping)
    data = json.loads(mapping.read_text())
    data["rules"] = [{"source": "Mileage (km)", "setting": "decimal_sign", "value": "comma"}]
    mapping.write_text(json.dumps(data))
    return mapping


def test_table_is_proposed_with_reasons_and_nothing_recorded(table: Path, capsys) -> None:
    run(table, "--propose", table.with_suffix(".json"))
    told = capsys.readouterr().out
    assert "vehicle_ref from Vehicle" in told
    assert "odometer from Mileage (km)" in told
    assert not Vehicle.objects.exists()


def test_table_without_a_mapping_is_refused(table: Path) -> None:
    with pytest.raises(CommandError, match="by a confirmed mapping"):
        run(table)
    with pytest.raises(CommandError, match="kept are: none"):
        run(table, "--source", "till")


def test_messy_table_lands_once_a_person_has_said_what_it_cannot_prove(
    table: Path, tmp_path: Path, capsys
) -> None:
    mapping = table.with_suffix(".json")
    run(table, "--propose", mapping)
    # 84.512 may be 84 512 or 84.512, and nothing in the file says which: every reading waits.
    with pytest.raises(SystemExit) as left:
        run(table, "--mapping", mapping, "--into", tmp_path / "held")
    assert left.value.code == 3
    assert "3 rows were held" in capsys.readouterr().out
    assert not OdometerReading.objects.exists()
    assert "84.512" in (tmp_path / "held" / "held.csv").read_text()
    run(table, "--mapping", confirmed(table), "--into", tmp_path / "out")
    assert set(OdometerReading.objects.values_list("vehicle__ref", "km")) == {
        ("V1", 84_512),
        ("V2", 91_003),
        ("V1", 99_870),
    }
    assert set(Vehicle.objects.values_list("marks__mark", flat=True)) == {"QX 1", "QX Ü2"}


def test_workbook_becomes_records_and_its_source_is_kept(tmp_path: Path, capsys) -> None:
    book = openpyxl.Workbook()
    for row in (
        ["Vehicle", "Date", "Mileage (km)"],
        ["V1", date(2024, 2, 13), 84_512],
        ["V2", date(2024, 2, 14), 91_003],
    ):
        book.active.append(row)
    path = tmp_path / "fleet.xlsx"
    book.save(path)
    mapping = tmp_path / "fleet.json"
    run(path, "--propose", mapping)
    run(path, "--mapping", mapping, "--source", "fleet sheet", "--into", tmp_path / "out")
    assert set(OdometerReading.objects.values_list("vehicle__ref", "km")) == {
        ("V1", 84_512),
        ("V2", 91_003),
    }
    assert ImportSource.objects.get().name == "fleet sheet"
    assert AuditEntry.objects.filter(thing="importsource").count() == 1
    run(path, "--source", "fleet sheet", "--into", tmp_path / "again")
    assert "0 applied, 2 already recorded" in capsys.readouterr().out
    assert OdometerReading.objects.count() == 2


def test_dry_run_records_nothing_and_keeps_no_source(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_text("Vehicle,Date,Mileage (km)\nV1,2024-02-13,84512\n")
    mapping = tmp_path / "plain.json"
    run(path, "--propose", mapping)
    run(path, "--mapping", mapping, "--source", "plain", "--dry-run")
    assert not Vehicle.objects.exists()
    assert not ImportSource.objects.exists()


def test_table_whose_columns_changed_says_which(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_text("Vehicle,Date,Mileage (km)\nV1,2024-02-13,84512\n")
    mapping = tmp_path / "plain.json"
    run(path, "--propose", mapping)
    path.write_text("Vehicle,Date,Colour\nV1,2024-02-13,red\n")
    with pytest.raises(CommandError, match=r"Mileage \(km\).* not there"):
        run(path, "--mapping", mapping)
    assert not Job.objects.exists()


def test_mapping_that_is_not_one_names_its_faults(table: Path, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.json"
    wrong.write_text("{}")
    with pytest.raises(CommandError, match="mapping"):
        run(table, "--mapping", wrong)
    with pytest.raises(CommandError, match="No such file"):
        run(table, "--mapping", tmp_path / "none.json")

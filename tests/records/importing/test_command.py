"""`import_history` in the terminal: what it prints and how it ends."""

from datetime import date
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from garage.records.importing.progress import bar
from garage.records.models import Vehicle
from tests.records.importing.conftest import Importer

pytestmark = pytest.mark.usefixtures("organisation")


def run(*options: str | Path) -> None:
    call_command("import_history", "--organisation", "alder", *map(str, options))


def test_summary_is_printed_and_all_rows_held_ends_well(
    importer: Importer, capsys: pytest.CaptureFixture[str]
) -> None:
    run("--vehicles", importer.file("vehicles", "vehicle_ref|engine_family\nV1|Rowan 18\nV1|"))
    output = capsys.readouterr()
    assert output.out == (
        "Organisation alder\n"
        "vehicles (vehicles.csv): 2 rows read = 1 applied, 0 already recorded, "
        "1 repeated in the file, 0 rejected\n"
        "  new: 1 vehicles\n"
        "  new engine families to review: Rowan 18\n"
    )
    assert output.err == ""


def test_rejected_rows_are_told_and_end_with_code_3(
    importer: Importer, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "\n".join(f"V{n}|bus" for n in range(9))
    with pytest.raises(SystemExit) as end:
        run("--vehicles", importer.file("vehicles", f"vehicle_ref|duty\nV9|taxi\n{rows}"))
    assert end.value.code == 3
    lines = capsys.readouterr().out.splitlines()
    assert "1 applied" in lines[1]
    assert "9 rejected" in lines[1]
    told = [line for line in lines if "duty must be one of" in line]
    assert told[0].startswith("  line 3 duty: ")
    assert len(told) == 5  # all are in the file
    assert lines[-1].endswith(f"{importer.folder / 'vehicles.csv.rejected.csv'}")
    assert Vehicle.objects.count() == 1


def test_refusal_is_an_error_with_code_2(importer: Importer) -> None:
    with pytest.raises(CommandError, match="got an empty file") as refusal:
        run("--vehicles", importer.file("vehicles", ""))
    assert refusal.value.returncode == 2


def test_unknown_organisation_is_an_error_that_says_how_to_add_it(importer: Importer) -> None:
    path = importer.file("vehicles", "vehicle_ref\nV1")
    with pytest.raises(CommandError, match="add_organisation birch") as refusal:
        call_command("import_history", "--organisation", "birch", "--vehicles", str(path))
    assert refusal.value.returncode == 2


def test_dry_run_says_so_and_records_nothing(
    importer: Importer, capsys: pytest.CaptureFixture[str]
) -> None:
    run("--dry-run", "--vehicles", importer.file("vehicles", "vehicle_ref\nV1"))
    assert "alder: dry run, nothing was recorded" in capsys.readouterr().out
    assert not Vehicle.objects.exists()


def test_as_of_sets_the_last_day_accepted(importer: Importer) -> None:
    path = importer.file("vehicles", "vehicle_ref|first_used_on\nV1|2020-03-03")
    with pytest.raises(SystemExit):
        run("--as-of", "2020-03-01", "--vehicles", path)
    run("--as-of", "2020-03-02", "--vehicles", path)
    assert Vehicle.objects.get().first_used_on == date(2020, 3, 3)


def test_rejected_to_names_the_folder(importer: Importer, tmp_path: Path) -> None:
    path = importer.file("vehicles", "vehicle_ref|duty\nV1|bus")
    with pytest.raises(SystemExit):
        run("--rejected-to", tmp_path / "out", "--vehicles", path)
    assert [found.name for found in (tmp_path / "out").iterdir()] == ["vehicles.csv.rejected.csv"]


def test_short_import_shows_no_bar_and_the_bar_counts_rows(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with bar("jobs", 10) as advance:
        advance(10)
    assert capsys.readouterr().err == ""
    with bar("jobs", 10, delay_s=0) as advance:
        advance(10)
    shown = capsys.readouterr().err
    assert "jobs: 100%" in shown
    assert "10/10" in shown

"""Taking the records out: into a folder or an archive, of one moment, and kept track of."""

import io
import json
import stat
import zipfile
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from garage.records.exporting.moment import one_moment
from garage.records.exporting.places import FolderPlace
from garage.records.models import AuditEntry, Organisation
from garage.records.services.export import archive_export, records_export
from tests.records.exporting.odd import odd_make
from tests.records.factories import OrganisationFactory, UserFactory

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CSV_FILES = ["clusters.csv", "jobs.csv", "odometer.csv", "vehicles.csv"]


@pytest.fixture
def organisation(db: None) -> Organisation:
    return odd_make()


def test_export_into_a_folder(organisation: Organisation, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "out"
    counts = records_export(organisation=organisation, place=FolderPlace(folder), at=AT)
    written = sorted(folder.iterdir())
    assert [path.name for path in written] == sorted([*CSV_FILES, "records.json"])
    assert (counts["vehicles.csv"], counts["clusters.csv"], counts["odometer.csv"]) == (3, 1, 4)
    assert counts["jobs.csv"] == 15
    assert {stat.S_IMODE(path.stat().st_mode) for path in written} == {0o600}


def test_export_into_an_archive_holds_the_same_files(
    organisation: Organisation, tmp_path: Path
) -> None:
    records_export(organisation=organisation, place=FolderPlace(tmp_path), at=AT)
    out = io.BytesIO()
    archive_export(organisation=organisation, out=out, at=AT)
    with zipfile.ZipFile(out) as archive:
        assert archive.testzip() is None
        assert sorted(archive.namelist()) == sorted([*CSV_FILES, "records.json"])
        for name in CSV_FILES:
            assert archive.read(name) == (tmp_path / name).read_bytes()
        assert archive.getinfo("jobs.csv").date_time == (2026, 3, 2, 9, 30, 0)


def test_export_is_kept_in_the_trail_and_in_the_document(
    organisation: Organisation, tmp_path: Path
) -> None:
    user = UserFactory()
    records_export(organisation=organisation, place=FolderPlace(tmp_path), at=AT, by=user)
    entry = AuditEntry.objects.get(organisation=organisation)
    assert (entry.verb, entry.thing, entry.by_id) == ("export", "records", user.pk)
    assert "records.json" in entry.changes["files"][1]
    told = json.loads((tmp_path / "records.json").read_text())
    assert [each["seal"] for each in told["audit_entries"]] == [entry.seal]


def test_export_that_breaks_off_leaves_the_files_that_were_there(
    organisation: Organisation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_off(*_: Any) -> int:
        raise OSError("no space left")

    (tmp_path / "vehicles.csv").write_text("before")
    monkeypatch.setattr("garage.records.services.export.csv_write", break_off)
    with pytest.raises(OSError, match="no space"):
        records_export(organisation=organisation, place=FolderPlace(tmp_path), at=AT)
    assert [path.name for path in tmp_path.iterdir()] == ["vehicles.csv"]
    assert (tmp_path / "vehicles.csv").read_text() == "before"


@pytest.mark.django_db(transaction=True)
def test_reads_of_one_moment_fit_each_other_and_hold_up_no_writer() -> None:
    OrganisationFactory()

    def write_meanwhile() -> None:
        OrganisationFactory()
        connection.close()

    with one_moment():
        before = Organisation.objects.count()
        writer = Thread(target=write_meanwhile)
        writer.start()
        writer.join()
        assert Organisation.objects.count() == before == 1
    assert Organisation.objects.count() == 2


def test_command_writes_what_the_import_reads(organisation: Organisation, tmp_path: Path) -> None:
    out = io.StringIO()
    call_command("export_records", organisation="oddments", to=tmp_path, stdout=out)
    assert sorted(path.name for path in tmp_path.iterdir()) == CSV_FILES
    assert f"{tmp_path / 'jobs.csv'}: 15 rows" in out.getvalue()
    call_command("export_records", organisation="oddments", to=tmp_path, json=True, stdout=out)
    assert (tmp_path / "records.json").is_file()


def test_command_refuses_an_organisation_that_is_not_there(
    organisation: Organisation, tmp_path: Path
) -> None:
    with pytest.raises(CommandError, match="recorded: oddments") as refused:
        call_command("export_records", organisation="elm", to=tmp_path)
    assert refused.value.returncode == 2
    assert list(tmp_path.iterdir()) == []


def test_command_refuses_a_folder_that_cannot_be(
    organisation: Organisation, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="Name a folder") as refused:
        call_command("export_records", organisation="oddments", to=tmp_path / "file")
    assert refused.value.returncode == 2

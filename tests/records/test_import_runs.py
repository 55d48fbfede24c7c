"""Import runs: queued, done once, watched, cancelled, lost with their worker and begun again."""

import io
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import OperationalError

from deploy.servers import dies_with_parent
from garage.background.models import QueuedWork
from garage.background.services import work_requeue_unfinished
from garage.records.errors import RuleBroken
from garage.records.import_folders import RunFolder, RunProgress
from garage.records.import_runs import run_is_stopping, run_progress
from garage.records.importing.jobs import JobsFile
from garage.records.models import AuditEntry, ImportRun, Job, Organisation, TableUpload, Vehicle
from garage.records.services.import_runs import (
    LOST,
    MOST_BYTES,
    SentFile,
    files_run_queue,
    import_run_cancel,
    import_run_do,
    import_runs_old_clear,
    table_run_queue,
)
from garage.records.services.table_uploads import upload_map
from garage.records.tasks import import_run as import_run_work
from tests.records.factories import OrganisationFactory, UserFactory
from tests.records.tables_sent import confirmed, sent
from tests.task_worker import REPO, environment_of_the_tests

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
VEHICLES = "vehicle_ref,registration\nV1,QX 1\nV2,QX 2\n"
JOBS = """job_ref,vehicle_ref,opened_on,operation,system
J1,V1,2024-03-02,inspect,service
J2,V2,2024-03-03,inspect,service
J3,V9,2024-03-04,inspect,service
"""


@pytest.fixture
def organisation(db: None) -> Organisation:
    return OrganisationFactory(code="alder")


def file(kind: str, text: str, **changed) -> SentFile:
    content = text.encode()
    said = {"file_name": f"our {kind}.csv", "size_bytes": len(content)}
    return SentFile(kind, content=io.BytesIO(content), **said | changed)


def queued(organisation: Organisation, *, dry_run: bool = False, by=None, **texts) -> ImportRun:
    said = {"vehicles": VEHICLES, "jobs": JOBS} | texts
    files = [file(kind, text) for kind, text in said.items()]
    return files_run_queue(organisation=organisation, files=files, dry_run=dry_run, at=AT, by=by)


def do(run: ImportRun) -> ImportRun:
    import_run_do(run_id=run.pk, clock=lambda: AT)
    run.refresh_from_db()
    return run


def test_run_waits_with_its_files_its_work_and_its_row_in_the_trail(
    organisation: Organisation,
) -> None:
    by = UserFactory()
    run = queued(organisation, by=by)
    assert (run.state, run.files["jobs"], run.by) == ("queued", "our jobs.csv", by)
    assert RunFolder(run.folder).file("jobs").read_text() == JOBS
    work = QueuedWork.objects.get()
    assert (work.kind, work.arguments) == ("records.import", {"run": run.pk})
    entry = AuditEntry.objects.get()
    assert (entry.verb, entry.thing, entry.thing_id, entry.by) == ("add", "importrun", run.pk, by)
    assert not Vehicle.objects.exists()


def test_run_is_done_and_its_rejected_rows_are_kept(organisation: Organisation) -> None:
    run = do(queued(organisation))
    assert (run.state, run.ended_at, run.tries, run.message) == ("done", AT, 1, "")
    assert Vehicle.objects.count() == Job.objects.count() == 2
    vehicles, jobs = run.summary["kinds"]
    assert vehicles["outcomes"]["applied"] == 2
    assert jobs["outcomes"]["rejected"] == 1
    assert run.summary["rows"] == 5
    assert not run.summary["is_whole"]
    kept = list(RunFolder(run.folder).path.iterdir())
    assert [each.name for each in kept] == [jobs["rejected_file"]]
    assert "V9" in kept[0].read_text()


def test_run_without_rejected_rows_leaves_no_file(organisation: Organisation) -> None:
    run = do(queued(organisation, jobs=JOBS.replace("V9", "V1")))
    assert run.summary["is_whole"]
    assert not RunFolder(run.folder).path.exists()


def test_dry_run_says_what_would_come_and_records_nothing(organisation: Organisation) -> None:
    run = do(queued(organisation, dry_run=True))
    assert (run.state, run.summary["kinds"][0]["new"]) == ("done", {"vehicles": 2})
    assert not Vehicle.objects.exists()


def test_run_that_is_over_is_not_done_again(organisation: Organisation) -> None:
    run = do(queued(organisation))
    Job.objects.all().delete()
    do(run)
    assert run.tries == 1
    assert not Job.objects.exists()


def test_work_does_the_run(organisation: Organisation) -> None:
    run = queued(organisation)
    import_run_work(QueuedWork.objects.get().arguments, AT)
    run.refresh_from_db()
    assert run.state == "done"
    import_run_work({"run": 999_999}, AT)


def test_refused_files_say_why_and_leave_nothing(organisation: Organisation) -> None:
    run = do(queued(organisation, jobs=JOBS.replace("opened_on", "colour")))
    assert run.state == "failed"
    assert "opened_on" in run.message
    assert not Vehicle.objects.exists()
    assert not RunFolder(run.folder).path.exists()


def test_fault_of_the_register_is_told_without_its_inside(
    organisation: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(self, rows):
        raise ZeroDivisionError("secret of a row")

    monkeypatch.setattr(JobsFile, "apply", fail)
    run = queued(organisation)
    with pytest.raises(ZeroDivisionError):
        do(run)
    run.refresh_from_db()
    assert run.state == "failed"
    assert "Nothing of it was recorded" in run.message
    assert "secret" not in run.message
    assert not Vehicle.objects.exists()


def test_end_that_cannot_be_written_leaves_no_records(
    organisation: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The records and the end of the run are one transaction."""
    run = queued(organisation)

    def refuse(self, *_args, **_said):
        if self.state == "done":
            raise OperationalError("disk full")
        return save(self, *_args, **_said)

    save = ImportRun.save
    monkeypatch.setattr(ImportRun, "save", refuse)
    with pytest.raises(OperationalError):
        do(run)
    run.refresh_from_db()
    assert run.state == "failed"
    assert not Vehicle.objects.exists()


@pytest.mark.parametrize(
    ("files", "column"),
    [
        ([], None),
        ([file("jobs", JOBS), file("jobs", JOBS)], None),
        ([file("colours", JOBS)], None),
        ([file("jobs", JOBS, size_bytes=0)], "jobs"),
        ([file("jobs", JOBS, size_bytes=MOST_BYTES + 1)], "jobs"),
    ],
)
def test_what_is_no_import_is_refused(
    organisation: Organisation, files: list[SentFile], column: str | None
) -> None:
    with pytest.raises(RuleBroken) as refused:
        files_run_queue(organisation=organisation, files=files, dry_run=False, at=AT)
    assert refused.value.column == column
    assert not ImportRun.objects.exists()


def test_largest_file_is_taken(organisation: Organisation) -> None:
    files = [file("vehicles", VEHICLES, size_bytes=MOST_BYTES)]
    assert files_run_queue(organisation=organisation, files=files, dry_run=False, at=AT).pk


# --- watched and cancelled ---


def test_progress_is_told_while_it_runs_and_not_after(
    organisation: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = queued(organisation)
    assert run_progress(run) is None
    seen: list[RunProgress | None] = []
    apply = JobsFile.apply

    def watched(self, rows):
        seen.append(run_progress(run))
        return apply(self, rows)

    monkeypatch.setattr(JobsFile, "apply", watched)
    do(run)
    assert seen == [RunProgress("jobs", 3, 0)]
    assert run_progress(run) is None


def test_run_that_waits_is_cancelled_at_once(
    organisation: Organisation, django_capture_on_commit_callbacks
) -> None:
    by = UserFactory(username="mallow")
    run = queued(organisation)
    with django_capture_on_commit_callbacks(execute=True):
        import_run_cancel(run=run, at=AT, by=by)
    do(run)
    assert (run.state, run.message) == ("cancelled", "Cancelled by mallow before it began.")
    assert not RunFolder(run.folder).path.exists()
    assert not Vehicle.objects.exists()


def test_run_on_its_way_stops_before_its_next_rows(
    organisation: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 1)
    monkeypatch.setattr("garage.records.services.import_runs._TOLD_EVERY_S", 0)
    run = queued(organisation)
    chunks = 0
    apply = JobsFile.apply

    def cancelled_meanwhile(self, rows):
        nonlocal chunks
        chunks += 1
        running = ImportRun.objects.get(pk=run.pk)
        import_run_cancel(run=running, at=AT, by=UserFactory(username="mallow"))
        assert run_is_stopping(running)
        return apply(self, rows)

    monkeypatch.setattr(JobsFile, "apply", cancelled_meanwhile)
    do(run)
    assert chunks == 1
    assert (run.state, run.summary) == ("cancelled", None)
    assert run.message == "Cancelled by mallow. Nothing of it was recorded."
    assert not Vehicle.objects.exists()
    assert not RunFolder(run.folder).path.exists()


def test_run_that_is_over_is_not_cancelled(organisation: Organisation) -> None:
    run = do(queued(organisation))
    with pytest.raises(RuleBroken):
        import_run_cancel(run=run, at=AT, by=UserFactory())
    run.refresh_from_db()
    assert run.state == "done"


# --- tables ---


def test_table_is_imported_as_a_run_and_let_go(
    organisation: Organisation, django_capture_on_commit_callbacks
) -> None:
    upload = sent(organisation)
    upload = upload_map(upload=upload, mapping=confirmed(upload), at=AT)
    run = table_run_queue(table=upload, dry_run=False, at=AT)
    with django_capture_on_commit_callbacks(execute=True):
        do(run)
    assert (run.state, run.table, run.files) == ("done", None, {"table": "till: out.csv"})
    assert run.summary["is_whole"]
    assert Job.objects.exists()
    assert not TableUpload.objects.exists()


def test_table_that_is_gone_is_said(organisation: Organisation) -> None:
    upload = sent(organisation)
    run = table_run_queue(table=upload, dry_run=False, at=AT)
    upload.delete()
    assert "Send it again" in do(run).message


def test_table_of_which_no_row_lands_is_refused_and_stays(organisation: Organisation) -> None:
    upload = sent(organisation)
    jobs = tuple(each for each in confirmed(upload).kinds if each.kind == "jobs")
    mapping = replace(confirmed(upload), kinds=jobs, rules=())
    upload = upload_map(upload=upload, mapping=mapping, at=AT)
    run = do(table_run_queue(table=upload, dry_run=False, at=AT))
    assert (run.state, run.table) == ("failed", upload)
    assert "rows that land; got none" in run.message


# --- old runs ---


def test_rejected_rows_go_after_a_month_and_the_run_stays(organisation: Organisation) -> None:
    run = do(queued(organisation))
    folder = RunFolder(run.folder)
    assert "V9" in str(run.summary)
    later = AT + timedelta(days=30)
    assert import_runs_old_clear(organisation=organisation, at=later) == 0
    assert folder.path.exists()
    assert import_runs_old_clear(organisation=organisation, at=later + timedelta(seconds=1)) == 1
    assert not folder.path.exists()
    run.refresh_from_db()
    jobs = run.summary["kinds"][1]
    assert (run.state, jobs["outcomes"]["rejected"]) == ("done", 1)
    assert (jobs["faults"], jobs["rejected_file"]) == ([], "")
    assert "V9" not in str(run.summary)
    assert import_runs_old_clear(organisation=organisation, at=later + timedelta(days=1)) == 0


def test_cells_that_held_rows_go_with_the_counts_kept(organisation: Organisation) -> None:
    upload = sent(organisation)
    upload = upload_map(upload=upload, mapping=replace(confirmed(upload), rules=()), at=AT)
    run = do(table_run_queue(table=upload, dry_run=True, at=AT))
    assert run.summary["held"]
    import_runs_old_clear(organisation=organisation, at=AT + timedelta(days=31))
    run.refresh_from_db()
    assert (run.summary["held"], run.summary["held_rows"]) == ([], 3)


def test_daily_erasure_clears_them(organisation: Organisation) -> None:
    run = do(queued(organisation))
    ImportRun.objects.update(ended_at=datetime(2020, 1, 1, tzinfo=UTC))
    call_command("erase_personal", "--dry-run")
    assert RunFolder(run.folder).path.exists()
    call_command("erase_personal")
    assert not RunFolder(run.folder).path.exists()


# --- lost workers ---


BEGINNING = """
import sys
import django
django.setup()
from django.conf import settings
from django.utils import timezone
from garage.records.importing import rows
from garage.records.importing.jobs import JobsFile
from garage.records.services import import_runs
settings.STORAGES["documents"]["OPTIONS"]["location"] = sys.argv[2]
"""

KILLED = (
    BEGINNING
    + """
import os, signal
rows.CHUNK_ROWS = 2
apply, chunks = JobsFile.apply, []
def die_on_the_second(self, given):
    if chunks:
        os.kill(os.getpid(), signal.SIGKILL)
    chunks.append(given)
    return apply(self, given)
JobsFile.apply = die_on_the_second
import_runs.import_run_do(run_id=int(sys.argv[1]), clock=timezone.now)
"""
)

WAITING = (
    BEGINNING
    + """
rows.CHUNK_ROWS = 1
import_runs._TOLD_EVERY_S = 0
apply = JobsFile.apply
def wait_for_a_line(self, given):
    print("in the middle", flush=True)
    sys.stdin.readline()
    return apply(self, given)
JobsFile.apply = wait_for_a_line
import_runs.import_run_do(run_id=int(sys.argv[1]), clock=timezone.now)
"""
)


@pytest.fixture
def elsewhere(transactional_db: None, settings, tmp_path: Path) -> ImportRun:
    """A run whose files other processes find, too."""
    storage = {"OPTIONS": {**settings.STORAGES["documents"]["OPTIONS"], "location": str(tmp_path)}}
    settings.STORAGES = settings.STORAGES | {"documents": settings.STORAGES["documents"] | storage}
    return queued(OrganisationFactory(code="alder"))


def begun(script: str, run: ImportRun, folder: Path) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", script, str(run.pk), str(folder)],
        cwd=REPO,
        env=environment_of_the_tests() | {"DJANGO_SETTINGS_MODULE": "tests.settings"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        preexec_fn=dies_with_parent(signal.SIGKILL),
    )


@pytest.mark.django_db(transaction=True)
def test_run_of_another_process_is_cancelled_while_it_holds_the_database(
    elsewhere: ImportRun, tmp_path: Path
) -> None:
    by = UserFactory(username="mallow")
    child = begun(WAITING, elsewhere, tmp_path)
    assert child.stdout is not None
    assert child.stdout.readline() == "in the middle\n"
    elsewhere.refresh_from_db()
    import_run_cancel(run=elsewhere, at=AT, by=by)
    child.communicate("go on\n" * 9, timeout=60)
    assert child.returncode == 0
    elsewhere.refresh_from_db()
    assert elsewhere.state == "cancelled"
    assert not Vehicle.objects.exists()
    entry = AuditEntry.objects.latest("serial")
    assert (entry.verb, entry.changes, entry.by) == (
        "change",
        {"state": ["running", "cancelled"]},
        by,
    )


def test_run_whose_worker_is_lost_too_often_is_ended(
    organisation: Organisation, django_capture_on_commit_callbacks
) -> None:
    run = queued(organisation)
    QueuedWork.objects.update(state="running", attempts=3, started_at=AT, worker="lost")
    ImportRun.objects.update(state="running", tries=3, message=LOST)
    with django_capture_on_commit_callbacks(execute=True):
        work_requeue_unfinished(worker=None, now=AT + timedelta(hours=1))
    run.refresh_from_db()
    assert (run.state, run.ended_at) == ("failed", AT + timedelta(hours=1))
    assert run.message.startswith("Its worker was lost again and again")
    assert not RunFolder(run.folder).path.exists()


@pytest.mark.django_db(transaction=True)
def test_killed_in_the_middle_nothing_is_there_and_it_begins_again(
    transactional_db: None, settings, tmp_path: Path
) -> None:
    storage = {"OPTIONS": {**settings.STORAGES["documents"]["OPTIONS"], "location": str(tmp_path)}}
    settings.STORAGES = settings.STORAGES | {"documents": settings.STORAGES["documents"] | storage}
    run = queued(OrganisationFactory(code="alder"))
    ended = subprocess.run(
        [sys.executable, "-c", KILLED, str(run.pk), str(tmp_path)],
        cwd=REPO,
        env=environment_of_the_tests() | {"DJANGO_SETTINGS_MODULE": "tests.settings"},
        timeout=60,
    )
    assert ended.returncode == -signal.SIGKILL
    run.refresh_from_db()
    assert run.state == "running"
    assert not Vehicle.objects.exists()
    assert not Job.objects.exists()
    assert RunFolder(run.folder).file("jobs").exists()

    do(run)
    assert (run.state, run.tries, run.message) == ("done", 2, LOST)
    assert Vehicle.objects.count() == Job.objects.count() == 2

"""Logs kept at a job: read in any common encoding, refused where nothing can be read."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from garage.evidence.services import drives
from garage.evidence.services.drives import NewDrive, drive_add, drive_remove
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, DriveLogged, Job
from tests.records.factories import JobFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TEXT = "time_s;soot (g);inlet (°C)\n0;18,2;600\n60;17,4;610\n"
HOME = NewDrive("drive home", "after_work", TEXT)


@pytest.fixture
def job() -> Job:
    return JobFactory()


def refused(job: Job, new: NewDrive) -> dict[str | None, RuleBroken]:
    with pytest.raises(RuleBroken) as raised:
        drive_add(job=job, new=new, at=AT)
    assert not DriveLogged.objects.exists()
    return {each.column: each for each in raised.value.broken}


def test_log_is_kept_as_it_came_with_its_audit_row(job: Job) -> None:
    kept = drive_add(job=job, new=replace(HOME, title="  drive   home "), at=AT)
    assert (kept.title, kept.text, kept.added_at) == ("drive home", TEXT, AT)
    row = AuditEntry.objects.get(thing="drivelogged")
    assert (row.verb, row.thing_id, row.changes) == (
        "add",
        kept.pk,
        {"phase": [None, "after_work"]},
    )


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_file_is_read_in_common_encodings(job: Job, encoding: str) -> None:
    kept = drive_add(job=job, new=replace(HOME, content=TEXT.encode(encoding)), at=AT)
    assert kept.text == TEXT


def test_rows_at_fault_do_not_keep_a_log_out(job: Job) -> None:
    """Two rows that can be read are enough; the third is told when it is read."""
    kept = drive_add(job=job, new=replace(HOME, content=f"{TEXT}x;17,0;610\n"), at=AT)
    assert [each.line for each in drives.log_read(kept.text).faults] == [4]


def test_log_in_which_nothing_can_be_read_is_refused_with_lines(job: Job) -> None:
    """One row more than the log of the test above can be read is refused."""
    broken = refused(job, replace(HOME, content="time_s;soot (g)\n0;18,2\nx;17,0\ny;16,0\n"))
    assert "line 3, time_s" in broken["log"].got
    assert "line 4, time_s" in broken["log"].got


def test_refusal_counts_the_faults_that_it_does_not_name(job: Job) -> None:
    rows = "".join(f"x{row};17,0\n" for row in range(8))
    broken = refused(job, replace(HOME, content=f"time_s;soot (g)\n{rows}"))
    assert broken["log"].got.endswith("and 3 more lines")


@pytest.mark.parametrize(
    ("content", "got"),
    [
        ("", "none"),
        ("mood;weather\ngood;fine\n", "mood;weather"),
        ("time_s;inlet (°C)\n0;600\n60;610\n", "no column of soot"),
        ("time_s;soot (stone)\n0;3\n60;4\n", "`soot (stone)` is not read"),
        ("time_s;soot (g)\n0;18,2\n60;\n", "1 of 2 rows"),
        ("soot (g)\n18,2\n18,4\n", "soot (g)"),
        (b"time_s;soot (g)\n0;1\x00\n60;2\n", "bytes of another kind"),
    ],
)
def test_what_is_no_log_is_refused(job: Job, content: bytes | str, got: str) -> None:
    assert got in refused(job, replace(HOME, content=content))["log"].got


@pytest.mark.parametrize(
    ("rows", "do"),
    [("time_s;soot (g)\n60;18,2\n0;18,3\n", "lines"), ("time_s;inlet (°C)\n0;60\n", "first line")],
)
def test_refused_log_is_told_what_would_help(job: Job, rows: str, do: str) -> None:
    assert do in refused(job, replace(HOME, content=rows))["log"].do


def test_log_as_large_as_allowed_is_taken_and_a_byte_more_is_not(job: Job) -> None:
    padding = "\n" * (drives.BYTES_MOST - len(TEXT.encode()))
    assert "kB" in refused(job, replace(HOME, content=f"{TEXT}{padding} "))["log"].got
    drive_add(job=job, new=replace(HOME, content=f"{TEXT}{padding}"), at=AT)


def test_every_fault_is_named_at_once(job: Job) -> None:
    assert set(refused(job, NewDrive(" ", "later", ""))) == {"title", "phase", "log"}


def test_job_takes_no_more_logs_than_its_page_can_read(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drives, "LOGS_MOST", 1)
    drive_add(job=job, new=HOME, at=AT)
    with pytest.raises(RuleBroken, match="at most 1 log"):
        drive_add(job=job, new=HOME, at=AT)
    assert DriveLogged.objects.count() == 1


def test_log_taken_out_leaves_its_audit_row(job: Job) -> None:
    kept = drive_add(job=job, new=HOME, at=AT)
    gone = kept.pk
    drive_remove(drive=kept, at=AT)
    assert not DriveLogged.objects.exists()
    row = AuditEntry.objects.get(thing="drivelogged", verb="remove")
    assert (row.thing_id, row.changes) == (gone, {"phase": ["after_work", None]})


def test_log_taken_out_twice_leaves_one_audit_row(job: Job) -> None:
    kept = drive_add(job=job, new=HOME, at=AT)
    again = DriveLogged.objects.get(pk=kept.pk)
    drive_remove(drive=kept, at=AT)
    drive_remove(drive=again, at=AT)
    assert AuditEntry.objects.filter(thing="drivelogged", verb="remove").count() == 1


def test_refusal_of_a_quotation_mark_names_the_line(job: Job) -> None:
    """Fails if what came is cut at its comma."""
    with pytest.raises(RuleBroken) as refused:
        drive_add(job=job, new=NewDrive("home", "arrival", 'time_s;soot_g\n0;"1\n'), at=AT)
    assert refused.value.got == "from line 2: unexpected end of data"

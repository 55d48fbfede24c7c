"""Write logs of drives and burns: the table as it came, refused where nothing can be read in it."""

import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.drives.log import Drive, drive_read
from garage.evidence.drives.told import fault_words
from garage.records.choices import AuditVerb, JobPhase
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import DriveLogged, Job
from garage.records.services.audit import Change, audit_record
from garage.records.tabular.encoding import encoding_find
from garage.records.texts import text_needed

#: Most of one log, in bytes: some ten hours at a row a second. It is read anew for each page.
#: Judgement, no source.
BYTES_MOST = 2_000_000
#: Most logs of one job, for the same reason. Judgement, no source.
LOGS_MOST = 30
#: Faults that a refusal names; the rest are counted. Judgement, no source.
FAULTS_TOLD = 5
TITLE_CHARACTERS = 120
#: Rows with soot and with time or distance, below which a log tells nothing: no change without two.
_ROWS_LEAST = 2


@dataclass(frozen=True)
class NewDrive:
    """A log as it comes: bytes of a file in any common encoding, or text."""

    title: str
    phase: str
    content: bytes | str


def drive_add(
    *, job: Job, new: NewDrive, at: datetime, by: AbstractBaseUser | None = None
) -> DriveLogged:
    """Keep a log at a job. Rows at fault are left out whenever it is read, and told then.

    RuleBroken names every fault at once; where nothing can be read, with the numbers of lines.
    """
    said: dict[str, str] = {}
    refuse_all(
        broken_by(
            lambda: said.update(title=_title(new.title)),
            lambda: _refuse_phase(new.phase),
            lambda: said.update(text=log_text(new.content)),
        )
    )
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        if job.drives.count() >= LOGS_MOST:
            raise RuleBroken(
                f"a job has at most {LOGS_MOST} logs",
                got=f"{LOGS_MOST} and another",
                do="Take out those that tell nothing, or join short ones into one table.",
                column="log",
            )
        kept = DriveLogged.objects.create(
            job=job,
            title=said["title"],
            phase=new.phase,
            text=said["text"],
            added_at=at,
            added_by_id=None if by is None else by.pk,
        )
        change = Change(AuditVerb.ADD, kept, {"phase": [None, kept.phase]})
        audit_record(organisation=job.organisation, change=change, by=by, at=at)
    return kept


def drive_remove(*, drive: DriveLogged, at: datetime, by: AbstractBaseUser | None = None) -> None:
    """Take a log out that came to the wrong job or tells nothing. Taken out already stays so."""
    gone = Change(AuditVerb.REMOVE, DriveLogged(pk=drive.pk), {"phase": [drive.phase, None]})
    with transaction.atomic():
        deleted, _ = DriveLogged.objects.filter(pk=drive.pk).delete()
        if not deleted:
            return
        audit_record(organisation=drive.job.organisation, change=gone, by=by, at=at)


def log_text(content: bytes | str) -> str:
    """The text of a log; RuleBroken where it is empty, too large, or nothing can be read in it."""
    size = len(content) if isinstance(content, bytes) else len(content.encode())
    if size > BYTES_MOST:
        raise RuleBroken(
            f"a log has at most {BYTES_MOST // 1000} kB",
            got=f"{size // 1000} kB",
            do="Send it in parts, or one row a second and only the columns that are used.",
            column="log",
        )
    text = _text(content)
    _refuse_untold(log_read(text))
    return text


def log_read(text: str) -> Drive:
    """The rows of a log; RuleBroken where it is no table of a drive."""
    try:
        return drive_read(text)
    except ValueError as error:
        rule, _, rest = str(error).partition("; got")
        got, _, do = rest.strip().rpartition(". ")
        raise RuleBroken(rule, got=got.strip("`") or "none", do=f"{do}.", column="log") from error


def log_file_read(content: bytes | str) -> Drive:
    """The rows of a log that is not kept, of any size; RuleBroken as for one that is."""
    drive = log_read(_text(content))
    _refuse_untold(drive)
    return drive


def _title(said: str) -> str:
    return text_needed(
        said,
        column="title",
        most=TITLE_CHARACTERS,
        rule="a log has a title of",
        do="Say in a few words what was driven.",
    )


def _refuse_phase(said: str) -> None:
    if said not in JobPhase.values:
        raise RuleBroken(
            f"a log is made at one of {', '.join(JobPhase.values)}",
            got=said,
            do="Say when.",
            column="phase",
        )


def _text(content: bytes | str) -> str:
    text = _decoded(content) if isinstance(content, bytes) else content
    if "\x00" in text:
        raise RuleBroken(
            "a log is a table of text",
            got="bytes of another kind of file",
            do="Save it as CSV and send that.",
            column="log",
        )
    return text


def _decoded(content: bytes) -> str:
    with tempfile.TemporaryDirectory(prefix="log-") as folder:
        path = Path(folder) / "log"
        path.write_bytes(content)
        found = encoding_find(path)
    try:
        return content.decode(found.name)
    except UnicodeDecodeError as error:
        raise RuleBroken(
            "a log is text in a common encoding",
            got=f"bytes that are not {found.name}",
            do="Save it as CSV in UTF-8 and send that.",
            column="log",
        ) from error


def _refuse_untold(drive: Drive) -> None:
    """A log in which no change of soot can be seen tells nothing here."""
    count = max(_rows_with(drive, "time_s"), _rows_with(drive, "distance_km"))
    if count >= _ROWS_LEAST:
        return
    rule = f"a log has at least {_ROWS_LEAST} rows with soot and with time or distance"
    if drive.soot_g is None:
        got = "; ".join(["no column of soot", *drive.remarks])
        do = "Put the names and units into the first line, such as `time_s,soot_g`."
    else:
        got = _faults_told(drive) or f"{count} of {drive.row_count} rows"
        do = "Put right the lines that are named, or log for longer."
    raise RuleBroken(rule, got=got, do=do, column="log")


def _rows_with(drive: Drive, along: str) -> int:
    if drive.missing(along, "soot_g"):
        return 0
    return int(drive.together(along, "soot_g").shape[1])


def _faults_told(drive: Drive) -> str:
    told = [fault_words(each) for each in drive.faults[:FAULTS_TOLD]]
    more = len(drive.faults) - len(told)
    return "; ".join([*told, *([f"and {more} more lines"] if more else [])])

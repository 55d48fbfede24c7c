"""Import in the background: queue a run, do it, cancel it, and let go of what is left of it."""

import logging
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import BinaryIO

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from garage.background.services import work_enqueue
from garage.records.choices import IMPORT, AuditVerb, ImportState
from garage.records.errors import RuleBroken
from garage.records.import_folders import RunFolder, RunProgress, folder_make
from garage.records.importing.columns import FILE_KINDS
from garage.records.importing.faults import ImportRefused
from garage.records.importing.told import Told, cells_dropped, import_told
from garage.records.models import ImportRun, Organisation, TableUpload
from garage.records.services.audit import Change, audit_record
from garage.records.services.history_import import ImportCancelled, ImportRequest, history_import
from garage.records.services.table_uploads import upload_import

logger = logging.getLogger(__name__)

#: Some two million rows of jobs; larger files go in by the terminal. Judgement.
MOST_BYTES = 500_000_000
#: Rejected rows are looked at within days or never; they hold personal data. Judgement.
KEPT_DAYS = 30
#: A page that is renewed every two seconds needs no more. Judgement.
_TOLD_EVERY_S = 0.5
_FILE_NAME_CHARACTERS = 120

LOST = (
    "The worker that did it was lost. Nothing of that try was kept; it began again from the "
    "beginning."
)


@dataclass(frozen=True)
class SentFile:
    """A file as it was sent; `kind` is that of our files."""

    kind: str
    file_name: str
    content: BinaryIO
    size_bytes: int


def files_run_queue(
    *,
    organisation: Organisation,
    files: Sequence[SentFile],
    dry_run: bool,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> ImportRun:
    """Keep files of our own form, and queue their import. RuleBroken says what is wrong."""
    _check(files)
    folder = folder_make()
    try:
        for each in files:
            folder.put(each.kind, each.content)
        run = ImportRun(
            organisation=organisation,
            files={each.kind: each.file_name[-_FILE_NAME_CHARACTERS:] for each in files},
            dry_run=dry_run,
        )
        return _queued(run, folder, at, by)
    except BaseException:
        folder.clear()
        raise


def table_run_queue(
    *, table: TableUpload, dry_run: bool, at: datetime, by: AbstractBaseUser | None = None
) -> ImportRun:
    """Queue the import of a table by its mapping."""
    folder = folder_make()
    try:
        named = {"table": f"{table.source_name}: {table.file_name}"}
        run = ImportRun(organisation=table.organisation, table=table, files=named, dry_run=dry_run)
        return _queued(run, folder, at, by)
    except BaseException:
        folder.clear()
        raise


def import_run_do(*, run_id: int, clock: Callable[[], datetime]) -> None:
    """Do a queued run, once. Its records and its end are written in one transaction, so that a
    run that is not done has left nothing behind, whenever its worker is lost."""
    run = _taken(run_id)
    if run is None:
        return
    folder = RunFolder(run.folder)
    at = clock()
    try:
        with transaction.atomic():
            summary = _import(run, folder, at)
            _end(run, ImportState.DONE, at=clock(), summary=summary)
    except ImportCancelled:
        username = folder.cancel_asked_by() or ""
        by = get_user_model().objects.filter(username=username).first()
        words = f"Cancelled by {username}. Nothing of it was recorded."
        _end_cancelled(run, words, at=clock(), by=by)
    except (ImportRefused, RuleBroken) as refused:
        _end(run, ImportState.FAILED, at=clock(), message=str(refused))
    except Exception:
        words = "It was stopped by a fault of the register; its log says more. Nothing of it was "
        _end(run, ImportState.FAILED, at=clock(), message=f"{words}recorded.")
        raise
    finally:
        folder.clear(keep=_rejected_files(run))


def import_run_cancel(*, run: ImportRun, at: datetime, by: AbstractBaseUser) -> ImportRun:
    """Have it stopped: at once where it waits, else before its next rows are written."""
    # Without a lock: on SQLite a running import holds it until its end.
    row = ImportRun.objects.get(pk=run.pk)
    if row.state == ImportState.RUNNING and RunFolder(row.folder).cancel_ask(by.get_username()):
        return row
    with transaction.atomic():
        row = ImportRun.objects.select_for_update().get(pk=run.pk)
        if row.is_over:
            raise RuleBroken(
                "a run is cancelled before it is over",
                got=f"a run that is {row.get_state_display()}",
                do="Take back what it recorded by hand, if that is needed.",
            )
        folder = RunFolder(row.folder)
        if row.state == ImportState.RUNNING:  # begun since it was read
            folder.cancel_ask(by.get_username())
            return row
        words = f"Cancelled by {by.get_username()} before it began."
        _end_cancelled(row, words, at=at, by=by)
        transaction.on_commit(folder.clear)
    return row


def import_run_give_up(*, run_id: int, at: datetime) -> None:
    """End a run whose worker was lost too often to try again."""
    run = ImportRun.objects.filter(pk=run_id).first()
    if run is None or run.is_over:
        return
    words = "Its worker was lost again and again: perhaps the machine lacks memory for it."
    run.message = ""
    with transaction.atomic():
        _end(run, ImportState.FAILED, at=at, message=f"{words} Nothing of it was recorded.")
        transaction.on_commit(RunFolder(run.folder).clear)


def import_runs_old_clear(*, organisation: Organisation, at: datetime) -> int:
    """Delete the rejected rows of runs long over, and the cells that their summaries tell: they
    hold personal data. The runs and their counts stay."""
    old = ImportRun.objects.filter(
        organisation=organisation, ended_at__lt=at - timedelta(days=KEPT_DAYS)
    )
    cleared = 0
    for run in old:
        folder = RunFolder(run.folder)
        cleared += folder.path.is_dir()
        folder.clear()
        counts = None if run.summary is None else cells_dropped(run.summary)
        if counts != run.summary:
            run.summary = counts
            run.save(update_fields=["summary"])
    return cleared


def _check(files: Sequence[SentFile]) -> None:
    kinds = [kind.name for kind in FILE_KINDS]
    named = [each.kind for each in files]
    if not files or len(set(named)) < len(named) or set(named) - set(kinds):
        raise RuleBroken(
            f"an import has at least one file, and of each kind ({', '.join(kinds)}) at most one",
            got=", ".join(named) or "none",
            do="Choose the files.",
        )
    for each in files:
        if not 0 < each.size_bytes <= MOST_BYTES:
            raise RuleBroken(
                f"a file sent here has 1 to {MOST_BYTES:,} bytes".replace(",", " "),
                got=f"{each.size_bytes:,} bytes".replace(",", " "),
                do="Send it in parts, or import it with manage.py import_history.",
                column=each.kind,
            )


def _queued(
    run: ImportRun, folder: RunFolder, at: datetime, by: AbstractBaseUser | None
) -> ImportRun:
    run.folder, run.queued_at, run.by_id = folder.name, at, None if by is None else by.pk
    with transaction.atomic():
        run.save(force_insert=True)
        audit_record(organisation=run.organisation, change=Change(AuditVerb.ADD, run), by=by, at=at)
        work_enqueue(kind=IMPORT, arguments={"run": run.pk}, now=at)
    return run


def _taken(run_id: int) -> ImportRun | None:
    """The run, to be done by this worker; None where it is over."""
    with transaction.atomic():
        run = ImportRun.objects.select_for_update().filter(pk=run_id).first()
        if run is None or run.is_over:
            return None
        run.message = LOST if run.state == ImportState.RUNNING else ""
        run.state = ImportState.RUNNING
        run.tries += 1
        run.save(update_fields=["state", "tries", "message"])
    return run


def _import(run: ImportRun, folder: RunFolder, at: datetime) -> Told:
    request = ImportRequest(
        run.organisation.code,
        {kind: folder.file(kind) for kind in run.files if run.table is None},
        timezone.localdate(at),
        at,
        dry_run=run.dry_run,
        rejected_to=folder.path,
        progress=_Watched(folder),
    )
    if "table" not in run.files:
        return import_told(history_import(request=request, by=run.by))
    if run.table is None:
        raise RuleBroken(
            "a table is there until it is imported",
            got="one that was let go meanwhile",
            do="Send it again.",
        )
    return upload_import(upload=run.table, request=request, by=run.by)


def _end(
    run: ImportRun, state: str, *, at: datetime, summary: Told | None = None, message: str = ""
) -> None:
    run.state, run.ended_at, run.summary = state, at, summary
    run.message = " ".join(filter(None, (run.message, message)))
    fields = ["state", "ended_at", "summary", "message"]
    if run.table_id is not None:
        # A table that landed whole is gone by now.
        run.table = TableUpload.objects.filter(pk=run.table_id).first()
        fields.append("table")
    run.save(update_fields=fields)
    logger.info("import run=%s %s tries=%s", run.pk, state, run.tries)


def _end_cancelled(
    run: ImportRun, words: str, *, at: datetime, by: AbstractBaseUser | None
) -> None:
    change = Change(AuditVerb.CHANGE, run, {"state": [run.state, ImportState.CANCELLED]})
    with transaction.atomic():
        _end(run, ImportState.CANCELLED, at=at, message=words)
        audit_record(organisation=run.organisation, change=change, by=by, at=at)


def _rejected_files(run: ImportRun) -> frozenset[str]:
    if run.summary is None:
        return frozenset()
    return frozenset(filter(None, (kind["rejected_file"] for kind in run.summary["kinds"])))


class _Watched:
    """Tells the folder how far it is, and stops where somebody wants it to."""

    def __init__(self, folder: RunFolder) -> None:
        self._folder = folder
        self._told_at = 0.0

    @contextmanager
    def __call__(self, name: str, rows: int) -> Iterator[Callable[[int], object]]:
        done = 0

        def advance(more: int) -> None:
            nonlocal done
            done += more
            if time.monotonic() - self._told_at >= _TOLD_EVERY_S or done >= rows:
                self._tell(RunProgress(name, rows, done))

        self._tell(RunProgress(name, rows, 0))
        yield advance

    def _tell(self, progress: RunProgress) -> None:
        if self._folder.cancel_asked_by() is not None:
            raise ImportCancelled
        self._folder.progress_write(progress)
        self._told_at = time.monotonic()

"""Import an organisation's history from files, all of them in one transaction."""

import logging
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, OperationalError, transaction

from garage.background.services import work_enqueue
from garage.records.choices import REFRESH, AuditVerb
from garage.records.importing.clusters import ClustersFile
from garage.records.importing.collecting import collected_rarely
from garage.records.importing.columns import CLUSTERS, FILE_KINDS, JOBS, ODOMETER, VEHICLES
from garage.records.importing.context import FileApplier, ImportContext
from garage.records.importing.faults import ImportRefused
from garage.records.importing.jobs import JobsFile
from garage.records.importing.odometer import OdometerFile
from garage.records.importing.reading import SourceFile, source_open
from garage.records.importing.rejects import RejectedFile, rejected_path
from garage.records.importing.rows import Outcome, RowReader
from garage.records.importing.summary import FileSummary, ImportSummary
from garage.records.importing.vehicles import VehiclesFile
from garage.records.models import Organisation
from garage.records.services.audit import Change, audit_record
from garage.records.services.claims import claims_open
from garage.records.services.rechecks import rechecks_begin
from garage.records.services.settle import vehicles_settle

logger = logging.getLogger(__name__)

#: Told the name of a file and its rows, gives a function that is told how many more are done.
Progress = Callable[[str, int], AbstractContextManager[Callable[[int], object]]]
#: What it is told after the last file, with the number of vehicles.
SETTLING = "readings judged and parts followed"


class ImportCancelled(Exception):
    """Raised by a progress function where somebody wants the import to stop."""


def no_progress(_name: str, _rows: int) -> AbstractContextManager[Callable[[int], object]]:
    """For nobody to watch."""
    return nullcontext(lambda _done: None)


@dataclass(frozen=True)
class ImportRequest:
    """What to import: `files` by the name of their kind.

    `as_of` is today for the records: no date may lie beyond it. `now` stamps the queued work.
    """

    organisation_code: str
    files: Mapping[str, Path]
    as_of: date
    now: datetime
    dry_run: bool = False
    rejected_to: Path | None = None
    progress: Progress = no_progress


@dataclass
class _Run:
    """One import on its way."""

    request: ImportRequest
    context: ImportContext
    summary: ImportSummary
    by: AbstractBaseUser | None
    rejected: dict[str, Path]
    touched: set[int] = field(default_factory=set)
    rejects: list[tuple[FileSummary, RejectedFile]] = field(default_factory=list)


def history_import(*, request: ImportRequest, by: AbstractBaseUser | None = None) -> ImportSummary:
    """Import these files; `by` is the acting user, None for the terminal.

    Raises ImportRefused, with everything that stops it. Whatever stops it, an exception of
    `progress` too, nothing of it is recorded: others see all of its files or none.
    """
    organisation = _organisation(request.organisation_code)
    sources = _sources(request)
    run = _Run(
        request,
        ImportContext(organisation, request.as_of),
        ImportSummary(organisation.code, request.dry_run),
        by,
        _rejected_paths(request, sources),
    )
    with _refused_when_busy(run), _rejects_kept(run), collected_rarely(), transaction.atomic():
        for source in sources:
            _apply_file(run, source)
        _settle(run)
        transaction.set_rollback(request.dry_run)
    logger.info(
        "import organisation=%s by=%s rows=%s rejected=%s dry_run=%s",
        organisation.pk,
        None if by is None else by.pk,
        sum(file.rows for file in run.summary.files),
        run.summary.rejected,
        request.dry_run,
    )
    return run.summary


def _apply_file(run: _Run, source: SourceFile) -> None:
    name = source.kind.name
    summary = FileSummary(name, source.path)
    rejected = RejectedFile(source, run.rejected[name])
    run.rejects.append((summary, rejected))
    with run.request.progress(name, source.row_count) as advance:
        # Imports of one organisation wait for each other: neither sees half of the other.
        Organisation.objects.select_for_update().get(pk=run.context.organisation.pk)
        applier = _applier(run.context, source)
        for chunk in RowReader(source, as_of=run.request.as_of).chunks():
            outcomes = applier.apply(chunk)
            summary.count(outcomes)
            for row, outcome in zip(chunk, outcomes, strict=True):
                if outcome is Outcome.REJECTED:
                    summary.tell(row)
                    rejected.write(row)
            advance(len(chunk))
    if summary.outcomes[Outcome.APPLIED]:
        _audit(run, summary)
    run.touched |= applier.touched
    summary.recorded, summary.notices = applier.counts(), applier.notices()
    run.summary.files.append(summary)


def _settle(run: _Run) -> None:
    """Derive what follows from the files together, once, and have the figures made anew."""
    if run.touched:
        with run.request.progress(SETTLING, len(run.touched)) as advance:
            vehicles_settle(vehicle_ids=run.touched, advance=advance)
        claims_open(vehicle_ids=run.touched, at=run.request.now)
        rechecks_begin(
            organisation=run.context.organisation,
            as_of=run.request.as_of,
            at=run.request.now,
        )
    if any(file.outcomes[Outcome.APPLIED] for file in run.summary.files):
        work_enqueue(
            kind=REFRESH,
            arguments={"organisation": run.context.organisation.code},
            now=run.request.now,
        )


def _audit(run: _Run, summary: FileSummary) -> None:
    audit_record(
        organisation=run.context.organisation,
        change=Change(
            AuditVerb.IMPORT,
            f"{summary.kind} file",
            {"rows applied": [None, summary.outcomes[Outcome.APPLIED]]},
        ),
        by=run.by,
        at=run.request.now,
    )


def _applier(context: ImportContext, source: SourceFile) -> FileApplier:
    if source.kind == VEHICLES:
        return VehiclesFile(context, file_name=source.path.name)
    if source.kind == CLUSTERS:
        return ClustersFile(context)
    if source.kind == ODOMETER:
        return OdometerFile(context)
    if source.kind == JOBS:
        return JobsFile(context)
    raise LookupError(f"no way to apply a {source.kind.name} file")


def _organisation(code: str) -> Organisation:
    try:
        return Organisation.objects.get(code=code)
    except Organisation.DoesNotExist:
        known = ", ".join(Organisation.objects.values_list("code", flat=True)) or "none"
        raise ImportRefused(
            f"the organisation must be recorded; got {code!r}, recorded: {known}. Add it with "
            f"manage.py add_organisation {code} --kind workshop (or fleet, adviser)."
        ) from None


def _sources(request: ImportRequest) -> list[SourceFile]:
    """The files, in the order in which they are applied, each checked for its form."""
    if not request.files:
        raise ImportRefused(
            "an import has at least one file; got none. Name one with --"
            + ", --".join(kind.name for kind in FILE_KINDS)
            + "."
        )
    sources: list[SourceFile] = []
    faults: list[str] = []
    for kind in FILE_KINDS:
        if kind.name in request.files:
            try:
                sources.append(source_open(kind, request.files[kind.name]))
            except ImportRefused as refused:
                faults += refused.faults
    if faults:
        raise ImportRefused(*faults)
    return sources


def _rejected_paths(request: ImportRequest, sources: list[SourceFile]) -> dict[str, Path]:
    paths = {
        source.kind.name: rejected_path(source.path, request.rejected_to) for source in sources
    }
    taken = {source.path.resolve() for source in sources}
    for path in paths.values():
        if path.resolve() in taken:
            raise ImportRefused(
                f"each file's rejected rows go to a file of their own; got {path} twice. Rename "
                "one of the files, or import them one after the other."
            )
        taken.add(path.resolve())
    return paths


@contextmanager
def _rejects_kept(run: _Run) -> Iterator[None]:
    """Put the files of rejected rows in their places once the import is through; else leave no
    trace of them."""
    try:
        yield
        for summary, rejected in run.rejects:
            summary.rejected_path = rejected.keep(dry_run=run.request.dry_run)
    finally:
        for _, rejected in run.rejects:
            rejected.discard()


@contextmanager
def _refused_when_busy(run: _Run) -> Iterator[None]:
    """Say in words what the database or the disk refuses; all of it is undone then."""
    try:
        yield
    except (OperationalError, IntegrityError, OSError) as error:
        logger.exception("import stopped organisation=%s", run.context.organisation.pk)
        raise ImportRefused(_stopped(error)) from error


def _stopped(error: Exception) -> str:
    if isinstance(error, OSError):
        return (
            f"rejected rows are written beside their file; got: {error.strerror} "
            f"({error.filename}). Name a folder that can be written with --rejected-to."
        )
    reason = (
        "another import or page wrote the same records meanwhile"
        if isinstance(error, IntegrityError)
        else f"the database said: {error}"
    )
    return (
        "an import needs the database to itself; got: "
        f"{reason}. Nothing was recorded; run the import again."
    )

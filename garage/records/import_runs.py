"""Import runs as pages and the API read them."""

from pathlib import Path

from django.db.models import QuerySet
from django.http import Http404

from garage.records.import_folders import RunFolder, RunProgress
from garage.records.models import ImportRun
from garage.records.permissions import Scope, access


def access_run(*, scope: Scope, run_id: int) -> ImportRun:
    """The run, for who may see it; Http404 else."""
    runs = ImportRun.objects.select_related("organisation", "by", "table")
    return access(runs, scope=scope, pk=run_id)


def runs_listed(*, scope: Scope) -> QuerySet[ImportRun]:
    """The newest first."""
    runs = ImportRun.objects.filter(organisation_id__in=scope.organisation_ids)
    return runs.select_related("organisation", "by").order_by("-queued_at", "-pk")


def run_progress(run: ImportRun) -> RunProgress | None:
    """How far a run is; None where it has not begun or is over."""
    return None if run.is_over else RunFolder(run.folder).progress_read()


def run_is_stopping(run: ImportRun) -> bool:
    """Whether somebody has asked for it to stop, and it has not yet."""
    return not run.is_over and RunFolder(run.folder).cancel_asked_by() is not None


def rejected_rows(*, run: ImportRun, kind: str) -> Path:
    """The file of this kind's rejected rows; Http404 where there is none, or none any more."""
    told = [] if run.summary is None else run.summary["kinds"]
    name = next((each["rejected_file"] for each in told if each["kind"] == kind), "")
    path = RunFolder(run.folder).rejected(name) if name else None
    if path is None or not path.is_file():
        raise Http404("no rejected rows are kept")
    return path

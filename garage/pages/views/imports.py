"""Import runs: sent in, watched while they are done, cancelled, and read when they are over."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.pages.forms.imports import ImportForm
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, may_write, not_done, now, tried
from garage.records.import_runs import (
    access_run,
    rejected_rows,
    run_is_stopping,
    run_progress,
    runs_listed,
)
from garage.records.models import ImportRun
from garage.records.services.import_runs import files_run_queue, import_run_cancel

RUNS_A_PAGE = 30


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def imports(request: HttpRequest) -> HttpResponse:
    """The runs so far, and files sent in for another."""
    view = in_view(request)
    sent = request.method == "POST"
    form = ImportForm(
        request.POST if sent else None, request.FILES or None, organisations=view.shown
    )
    queued: list[ImportRun] = []

    def queue(said: dict[str, Any]) -> None:
        member = acting(request, said["organisation"].pk)
        queued.append(
            files_run_queue(
                organisation=member.organisation,
                files=form.sent(),
                dry_run=said["dry_run"],
                at=now(),
                by=member.user,
            )
        )

    if sent and tried(form, queue):
        return redirect("import-run", queued[0].pk)
    shown = Paginator(runs_listed(scope=view.scope), RUNS_A_PAGE).get_page(request.GET.get("page"))
    return page(request, "imports.html", view, None, form=form, shown=shown)


@login_required
@require_safe
def import_run(request: HttpRequest, run_id: int) -> HttpResponse:
    view = in_view(request)
    run = access_run(scope=view.scope, run_id=run_id)
    return page(
        request,
        "import_run.html",
        view,
        None,
        run=run,
        progress=run_progress(run),
        is_stopping=run_is_stopping(run),
        may_write=may_write(request, run.organisation_id),
    )


@login_required
@require_POST
def import_cancel(request: HttpRequest, run_id: int) -> HttpResponse:
    run = access_run(scope=in_view(request).scope, run_id=run_id)
    member = acting(request, run.organisation_id)
    form = forms.Form(request.POST)
    if tried(form, lambda _: import_run_cancel(run=run, at=now(), by=member.user)):
        return done(request, "It will stop before its next rows are written.", "import-run", run.pk)
    return not_done(request, form, "import-run", run.pk)


@login_required
@require_safe
def import_rejected(request: HttpRequest, run_id: int, kind: str) -> HttpResponseBase:
    """The rows that could not be used, with what is wrong with them, to correct and send again."""
    run = access_run(scope=in_view(request).scope, run_id=run_id)
    path = rejected_rows(run=run, kind=kind)
    return FileResponse(
        path.open("rb"),
        as_attachment=True,
        filename=f"{kind}.rejected.csv",
        headers={"Cache-Control": "private, no-store"},
    )

"""Rechecks: which are due and overdue, and what came of each."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from garage.pages.forms.rechecks import DoneForm, WaiveForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, now, today, tried
from garage.records.rechecks import access_recheck, rechecks_due
from garage.records.services.rechecks import recheck_done, recheck_waive


@login_required
@require_safe
def rechecks(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    waiting = [
        (each, current_mark(each.recheck.job.vehicle))
        for each in rechecks_due(scope=view.scope, as_of=today())
    ]
    return page(
        request,
        "rechecks.html",
        view,
        None,
        overdue=[each for each in waiting if each[0].is_overdue],
        due=[each for each in waiting if not each[0].is_overdue],
    )


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def recheck(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """End one recheck: made at a later job, or waived for a reason."""
    view = in_view(request)
    found = access_recheck(scope=view.scope, recheck_id=recheck_id)
    member = acting(request, found.job.organisation_id)
    waives = "reason" in request.POST
    data = request.POST or None
    made: forms.Form = DoneForm(None if waives else data, recheck=found)
    waived: forms.Form = WaiveForm(data if waives else None)

    def end(said: dict[str, Any]) -> None:
        if waives:
            recheck_waive(recheck=found, reason=said["reason"], at=now(), by=member.user)
        else:
            recheck_done(recheck=found, done_at=said["done_at"], at=now(), by=member.user)

    if request.method == "POST" and tried(waived if waives else made, end):
        return done(request, "The recheck is ended.", "rechecks")
    return page(
        request,
        "recheck.html",
        view,
        None,
        recheck=found,
        mark=current_mark(found.job.vehicle),
        made=made,
        waived=waived,
    )

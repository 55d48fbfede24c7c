"""Erase the personal data of a vehicle whose keeper asked, and read what was erased."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from garage.pages.forms.erasure import EraseForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, now, tried
from garage.records.choices import ErasureBecause, Role
from garage.records.erasures import erasures_listed, personal_held
from garage.records.selectors import access_vehicle
from garage.records.services.erasure import EraseRequest, personal_erase

ROWS_A_PAGE = 50


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def erasure(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    """What would go, and on a tick that it shall, gone."""
    view = in_view(request)
    found = access_vehicle(scope=view.scope, vehicle_id=vehicle_id)
    member = acting(request, found.organisation_id, least=Role.OWNER)
    form: forms.Form = EraseForm(request.POST if request.method == "POST" else None)

    def erase(_: dict[str, Any]) -> None:
        asked = EraseRequest(found.organisation, [found.pk], ErasureBecause.REQUEST)
        personal_erase(request=asked, at=now(), by=member.user)

    if request.method == "POST" and tried(form, erase):
        return done(request, "The personal data is erased.", "erasures", found.organisation_id)
    return page(
        request,
        "erasure.html",
        view,
        None,
        vehicle=found,
        mark=current_mark(found),
        held=personal_held(found),
        form=form,
    )


@login_required
@require_safe
def erasures(request: HttpRequest, organisation_id: int) -> HttpResponse:
    member = acting(request, organisation_id, least=Role.OWNER)
    listed = erasures_listed(organisation=member.organisation)
    shown = Paginator(listed, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return page(
        request,
        "erasures.html",
        in_view(request),
        None,
        organisation=member.organisation,
        shown=shown,
        rows=[(each, {what: n for what, n in each.erased.items() if n}) for each in shown],
    )

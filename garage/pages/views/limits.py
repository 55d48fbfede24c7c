"""The limits of the evidence: all of them, an own one set, an own one removed."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from garage.evidence.own_limits import access_own_threshold
from garage.evidence.services.own_thresholds import (
    OwnLimit,
    own_threshold_remove,
    own_threshold_set,
)
from garage.pages.in_view import in_view
from garage.pages.limits_page import limits_page, own_limit_form
from garage.pages.write import acting, done, not_done, now, tried
from garage.records.choices import Role


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def limits(request: HttpRequest) -> HttpResponse:
    """All limits, and the form that sets an own one; owners only may."""
    form = own_limit_form(request)

    def keep(said: dict[str, Any]) -> None:
        member = acting(request, said.pop("organisation").pk, least=Role.OWNER)
        own_threshold_set(
            organisation=member.organisation, limit=OwnLimit(**said), at=now(), by=member.user
        )

    if request.method == "POST" and tried(form, keep):
        return done(request, "The own limit is kept, and holds from now on.", "limits")
    return limits_page(request, form)


@login_required
@require_POST
def limit_remove(request: HttpRequest, own_id: int) -> HttpResponse:
    """Take an own limit back."""
    own = access_own_threshold(scope=in_view(request).scope, own_id=own_id)
    member = acting(request, own.organisation_id, least=Role.OWNER)
    form = forms.Form(request.POST)
    if tried(form, lambda _: own_threshold_remove(own=own, at=now(), by=member.user)):
        return done(request, "The own limit is removed.", "limits")
    return not_done(request, form, "limits")

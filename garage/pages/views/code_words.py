"""The words of trouble codes: all of them, own ones set, own ones removed."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from garage.evidence.own_wordings import access_own_wording
from garage.evidence.services.own_wordings import (
    OwnWording,
    own_wording_remove,
    own_wording_set,
)
from garage.pages.code_words_page import code_words_page, own_wording_form
from garage.pages.in_view import in_view
from garage.pages.write import acting, done, now, tried
from garage.records.choices import Role


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def code_words(request: HttpRequest) -> HttpResponse:
    """All words, and the form that sets own ones; owners only may."""
    form = own_wording_form(request)

    def keep(said: dict[str, Any]) -> None:
        member = acting(request, said.pop("organisation").pk, least=Role.OWNER)
        own_wording_set(
            organisation=member.organisation, wording=OwnWording(**said), at=now(), by=member.user
        )

    if request.method == "POST" and tried(form, keep):
        return done(request, "The words are kept, and hold from now on.", "code-words")
    return code_words_page(request, form)


@login_required
@require_POST
def code_words_remove(request: HttpRequest, wording_id: int) -> HttpResponse:
    """Take own words back."""
    own = access_own_wording(scope=in_view(request).scope, wording_id=wording_id)
    member = acting(request, own.organisation_id, least=Role.OWNER)
    own_wording_remove(wording=own, at=now(), by=member.user)
    return done(request, "The words are removed.", "code-words")

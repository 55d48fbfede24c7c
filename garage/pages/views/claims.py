"""Warranty claims: the list, one claim, its sheet, and where it goes next."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.pages.forms.claims import NothingForm, ReasonForm, SendForm, SettleForm, WarrantyForm
from garage.pages.forms.documents import DocumentForm
from garage.pages.in_view import in_view
from garage.pages.respond import page, pdf_answer
from garage.pages.sheets.claim import claim_sheet
from garage.pages.write import acting, done, may_write, now, today, tried
from garage.records.choices import ClaimState
from garage.records.claims import (
    access_claim,
    access_warrantable,
    claim_evidence,
    claims_listed,
    claims_not_in_time,
)
from garage.records.models import Claim
from garage.records.services.claims import (
    Settlement,
    claim_end,
    claim_reopen,
    claim_send,
    claim_settle,
)
from garage.records.services.warranties import WarrantyTerms, warranty_set
from garage.records.warranty import CLAIM_MOVES

CLAIMS_A_PAGE = 50
#: Each move with the words of its button and the form it needs.
MOVES: dict[str, tuple[str, type[forms.Form]]] = {
    ClaimState.SENT: ("Sent", SendForm),
    ClaimState.SETTLED: ("Settled", SettleForm),
    ClaimState.REFUSED: ("Refused", ReasonForm),
    ClaimState.DROPPED: ("Not pursued", ReasonForm),
    ClaimState.OPEN: ("Take up again", NothingForm),
}


@login_required
@require_safe
def claims(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    state = request.GET.get("state", "")
    state = state if state in ClaimState.values else ""
    listed = claims_listed(scope=view.scope, state=state)
    return page(
        request,
        "claims.html",
        view,
        None,
        state=state,
        query=f"state={state}" if state else "",
        states=ClaimState.choices,
        shown=Paginator(listed, CLAIMS_A_PAGE).get_page(request.GET.get("page")),
        late=claims_not_in_time(scope=view.scope, as_of=today()),
        today=today(),
    )


@login_required
@require_safe
def claim(request: HttpRequest, claim_id: int) -> HttpResponse:
    view = in_view(request)
    found = access_claim(scope=view.scope, claim_id=claim_id)
    return _claim_page(request, found, None)


@login_required
@require_POST
def claim_move(request: HttpRequest, claim_id: int, state: str) -> HttpResponse:
    view = in_view(request)
    found = access_claim(scope=view.scope, claim_id=claim_id)
    member = acting(request, found.organisation_id)
    if state not in MOVES:
        raise Http404("no such move")
    form = MOVES[state][1](request.POST, prefix=state)
    if tried(form, lambda said: _move(found, state, said, by=member.user)):
        return done(
            request, f"Claim {found.pk} is now {ClaimState(state).label}.", "claim", found.pk
        )
    return _claim_page(request, found, (state, form))


def _move(found: Claim, state: str, said: dict[str, Any], *, by: Any) -> None:
    at = now()
    if state == ClaimState.SENT:
        claim_send(claim=found, sent_on=said["sent_on"], at=at, by=by)
    elif state == ClaimState.SETTLED:
        claim_settle(claim=found, settlement=Settlement(**said), at=at, by=by)
    elif state == ClaimState.OPEN:
        claim_reopen(claim=found, at=at, by=by)
    else:
        claim_end(claim=found, state=state, reason=said["reason"], at=at, by=by)


def _claim_page(
    request: HttpRequest, found: Claim, wrong: tuple[str, forms.Form] | None
) -> HttpResponse:
    moves = []
    for state in CLAIM_MOVES[found.state]:
        words, form_class = MOVES[state]
        initial = {"sent_on": today(), "decided_on": today()}
        form = form_class(prefix=state, initial=initial)
        if wrong is not None and wrong[0] == state:
            form = wrong[1]
        moves.append((state, words, form))
    return page(
        request,
        "claim.html",
        in_view(request),
        None,
        evidence=claim_evidence(claim=found),
        moves=moves,
        document_form=DocumentForm(),
        may_write=may_write(request, found.organisation_id),
        today=today(),
    )


@login_required
@require_safe
def claim_print(request: HttpRequest, claim_id: int) -> HttpResponse:
    """The claim sheet as PDF."""
    found = access_claim(scope=in_view(request).scope, claim_id=claim_id)
    pdf = claim_sheet(claim_evidence(claim=found), made_on=today())
    return pdf_answer(pdf, name=f"claim-{found.pk}")


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def warranty(request: HttpRequest, operation_id: int) -> HttpResponse:
    """The warranty terms of a part that was fitted."""
    view = in_view(request)
    operation = access_warrantable(scope=view.scope, operation_id=operation_id)
    member = acting(request, operation.job.organisation_id)
    recorded = getattr(operation, "warranty", None)
    form = WarrantyForm(
        request.POST or None, initial={} if recorded is None else vars(recorded).copy()
    )
    if request.method == "POST" and tried(
        form,
        lambda said: warranty_set(
            operation=operation, terms=WarrantyTerms(**said), at=now(), by=member.user
        ),
    ):
        return redirect("vehicle", operation.job.vehicle_id)
    return page(request, "warranty.html", view, None, operation=operation, form=form)

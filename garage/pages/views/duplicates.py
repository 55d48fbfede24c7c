"""Records that may be one: looked at side by side, merged, held apart, or parted again."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.pages.forms.duplicates import PairForm
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, not_done, now, tried
from garage.records.choices import MergedThing
from garage.records.duplicates.candidates import Candidate
from garage.records.duplicates.find import (
    access_merge,
    access_pair,
    jobs_possibly_one,
    vehicles_possibly_one,
)
from garage.records.models import Job, Merge, Vehicle
from garage.records.services.merge import jobs_merge, merge_undo, not_duplicate, vehicles_merge

#: A person decides a dozen pairs at a sitting; the rest waits for the next look.
PAIRS_SHOWN = 25
MERGES_SHOWN = 25


@login_required
@require_safe
def duplicates(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    vehicle_pairs, job_pairs = [], []
    for organisation in view.shown:
        vehicle_pairs += _shown(vehicles_possibly_one(organisation=organisation), Vehicle)
        job_pairs += _shown(jobs_possibly_one(organisation=organisation), Job)
    return page(
        request,
        "duplicates.html",
        view,
        None,
        vehicle_pairs=vehicle_pairs,
        job_pairs=job_pairs,
        merges=Merge.objects.filter(
            organisation_id__in=view.scope.organisation_ids, undone_at__isnull=True
        ).order_by("-at", "-pk")[:MERGES_SHOWN],
    )


def _shown(candidates: list[Candidate], model: Any) -> list[tuple[Candidate, Any, Any]]:
    chosen = candidates[:PAIRS_SHOWN]
    rows = model.objects.in_bulk({each for pair in chosen for each in (pair.one_id, pair.other_id)})
    return [(pair, rows[pair.one_id], rows[pair.other_id]) for pair in chosen]


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def duplicate(request: HttpRequest, thing: str, one_id: int, other_id: int) -> HttpResponse:
    """One pair, side by side."""
    view = in_view(request)
    one, other = access_pair(scope=view.scope, thing=thing, ids=(one_id, other_id))
    member = acting(request, one.organisation_id)
    form = PairForm(request.POST or None)

    def decide(said: dict[str, Any]) -> None:
        if said["decision"] == "two":
            not_duplicate(
                organisation=member.organisation,
                thing=thing,
                ids=(one.pk, other.pk),
                at=now(),
                by=member.user,
            )
            return
        kept, gone = (one, other) if said["decision"] == "keep_one" else (other, one)
        merge: Any = vehicles_merge if thing == MergedThing.VEHICLE else jobs_merge
        merge(kept=kept, gone=gone, reason=said["reason"], at=now(), by=member.user)

    if request.method == "POST" and tried(form, decide):
        return done(request, "Decided. A merge can be undone below.", "duplicates")
    return page(request, "duplicate.html", view, None, thing=thing, pair=(one, other), form=form)


@login_required
@require_POST
def merge_part(request: HttpRequest, merge_id: int) -> HttpResponse:
    """Part two merged records again."""
    merge = access_merge(scope=in_view(request).scope, merge_id=merge_id)
    member = acting(request, merge.organisation_id)
    form = forms.Form(request.POST)
    if tried(form, lambda _: merge_undo(merge=merge, at=now(), by=member.user)):
        return done(request, "They are two again.", "duplicates")
    return not_done(request, form, "duplicates")

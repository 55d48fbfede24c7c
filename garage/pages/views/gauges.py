"""The gauges of a job: pairs taken, a display's unit confirmed, findings kept."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import AbstractBaseUser
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from garage.evidence.instruments import pairs_of_job
from garage.evidence.services.display_units import UnitSaid, readings_shown_by, unit_confirm
from garage.evidence.services.findings import FindingSaid, caution_confirm, finding_record
from garage.evidence.services.gauges import NewPair, gauge_pair_add, gauge_pair_remove
from garage.pages.evidence_page import phase_asked
from garage.pages.forms.evidence import CautionForm
from garage.pages.forms.gauges import (
    ConfirmForm,
    KeepForm,
    PairForm,
    PairRemoveForm,
    ShownByForm,
)
from garage.pages.gauges_page import gauges_page
from garage.pages.in_view import in_view
from garage.pages.write import acting, done, now, tried
from garage.records.models import Job
from garage.records.selectors import access_job


@login_required
@require_safe
def job_gauges(request: HttpRequest, job_id: int) -> HttpResponse:
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    return gauges_page(request, found, phase_asked(request.GET.get("phase")))


def _pair(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    gauge_pair_add(job=job, new=NewPair(**said), at=now(), by=by)


def _remove(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    pair = get_object_or_404(pairs_of_job(job=job), pk=said["pair"])
    gauge_pair_remove(pair=pair, at=now(), by=by)


def _confirm(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    display = get_object_or_404(job.organisation.instruments, pk=said["instrument"])
    family = job.vehicle.engine_family if said["reach"] else None
    unit_confirm(instrument=display, said=UnitSaid(said["unit"], family), at=now(), by=by)


def _shown_by(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    readings_shown_by(job=job, instrument=said["instrument"], at=now(), by=by)


def _caution(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    caution_confirm(job=job, procedure_key=said["procedure"], name=said["name"], at=now(), by=by)


def _keep(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    finding, state = said["found"]
    finding_record(job=job, said=FindingSaid(finding, state, said["phase"]), at=now(), by=by)


@dataclass(frozen=True)
class _Write:
    """A form, what it does, and what is said then."""

    form: Callable[[HttpRequest, Job], forms.Form]
    do: Callable[[Job, dict[str, Any], AbstractBaseUser], None]
    words: str


def _confirm_form(request: HttpRequest, job: Job) -> forms.Form:
    family = job.vehicle.engine_family
    name = None if family is None else family.name
    return ConfirmForm(request.POST, prefix="confirm", family=name)


_WRITES = {
    "pair": _Write(
        lambda r, job: PairForm(r.POST, prefix="pair", organisation_id=job.organisation_id),
        _pair,
        "The pair is kept.",
    ),
    "remove": _Write(
        lambda r, job: PairRemoveForm(r.POST, prefix="remove"), _remove, "The pair is taken out."
    ),
    "confirm": _Write(_confirm_form, _confirm, "The unit is kept; its readings are told in it."),
    "shown-by": _Write(
        lambda r, job: ShownByForm(r.POST, prefix="shown-by", organisation_id=job.organisation_id),
        _shown_by,
        "The readings are that display's.",
    ),
    "caution": _Write(
        lambda r, job: CautionForm(r.POST, prefix="caution"),
        _caution,
        "Your name is kept with the cautions.",
    ),
    "keep": _Write(lambda r, job: KeepForm(r.POST, prefix="keep"), _keep, "The finding is kept."),
}


@login_required
@require_POST
def job_gauges_write(request: HttpRequest, job_id: int, what: str) -> HttpResponse:
    """Write one thing; a form that is refused comes back on the page, as it was asked."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    if what not in _WRITES:
        raise Http404("no such form")
    write = _WRITES[what]
    form = write.form(request, found)
    if tried(form, lambda said: write.do(found, said, member.user)):
        asked = request.GET.urlencode()
        address = reverse("job-gauges", args=[found.pk])
        return done(request, write.words, f"{address}?{asked}" if asked else address)
    return gauges_page(request, found, phase_asked(request.GET.get("phase")), {what: form})

"""The evidence of a job: what it says, what contradicts, what to check next."""

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import AbstractBaseUser
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from garage.evidence.services.findings import (
    FindingSaid,
    caution_confirm,
    finding_record,
    finding_take_back,
    outcome_confirm,
)
from garage.pages.evidence_page import evidence_page, phase_asked
from garage.pages.forms.evidence import CautionForm, FindingForm, OutcomeForm, TakeBackForm
from garage.pages.in_view import in_view
from garage.pages.write import acting, done, now, tried
from garage.records.models import Job
from garage.records.selectors import access_job


@login_required
@require_safe
def job_evidence(request: HttpRequest, job_id: int) -> HttpResponse:
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    return evidence_page(request, found, phase_asked(request.GET.get("phase")))


def _finding(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    finding, state = said["found"]
    kept = FindingSaid(finding, state, phase=said["phase"], note=said["note"])
    finding_record(job=job, said=kept, at=now(), by=by)


def _take_back(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    seen = get_object_or_404(job.findings_seen, pk=said["seen"])
    finding_take_back(seen=seen, at=now(), by=by)


def _caution(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    caution_confirm(job=job, procedure_key=said["procedure"], name=said["name"], at=now(), by=by)


def _outcome(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    of, state = said["proved"]
    outcome_confirm(job=job, of=of, state=state, at=now(), by=by)


_WRITES = {
    "finding": (FindingForm, _finding, "The finding is kept."),
    "take-back": (TakeBackForm, _take_back, "The finding is taken back: it is not known again."),
    "caution": (CautionForm, _caution, "Your name is kept with the cautions."),
    "outcome": (OutcomeForm, _outcome, "What it proved to be is kept."),
}


def _finding_waiting(request: HttpRequest) -> FindingForm | None:
    """The finding that waited for cautions just confirmed, as it was typed; kept by a tap more."""
    typed = {name: request.POST.get(f"finding-{name}") for name in FindingForm.base_fields}
    if not request.POST.get("caution-name") or typed["found"] is None:
        return None
    return FindingForm(prefix="finding", initial=typed)


@login_required
@require_POST
def job_evidence_write(request: HttpRequest, job_id: int, what: str) -> HttpResponse:
    """Write one thing of the evidence; a form that is refused comes back on the page it was sent
    from, and a finding that is kept is shown at its phase."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    if what not in _WRITES:
        raise Http404("no such form")
    form_class, do, words = _WRITES[what]
    form: forms.Form = form_class(request.POST, prefix=what)
    phase = phase_asked(request.GET.get("phase"))
    if tried(form, lambda said: do(found, said, member.user)):
        waiting = _finding_waiting(request)
        if waiting is not None:
            messages.success(request, words)
            return evidence_page(request, found, phase, {"finding": waiting})
        shown = form.cleaned_data.get("phase", phase)
        return done(request, words, f"{reverse('job-evidence', args=[found.pk])}?phase={shown}")
    return evidence_page(request, found, phase, {what: form})

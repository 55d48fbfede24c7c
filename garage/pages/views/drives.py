"""The logs of a job: judged, sent in, taken out."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import AbstractBaseUser
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST, require_safe

from garage.evidence.services.drives import drive_add, drive_remove
from garage.evidence.services.findings import caution_confirm
from garage.pages.drives_page import drives_page
from garage.pages.forms.drives import DriveForm, DriveRemoveForm, drive_of
from garage.pages.forms.evidence import CautionForm
from garage.pages.in_view import in_view
from garage.pages.write import acting, done, now, tried
from garage.records.models import Job
from garage.records.selectors import access_job


@login_required
@require_safe
def job_drives(request: HttpRequest, job_id: int) -> HttpResponse:
    return drives_page(request, access_job(scope=in_view(request).scope, job_id=job_id))


def _add(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    drive_add(job=job, new=drive_of(said), at=now(), by=by)


def _remove(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    drive = get_object_or_404(job.drives, pk=said["drive"])
    drive_remove(drive=drive, at=now(), by=by)


def _caution(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    caution_confirm(job=job, procedure_key=said["procedure"], name=said["name"], at=now(), by=by)


_WRITES = {
    "add": (DriveForm, _add, "The log is kept, and judged below."),
    "remove": (DriveRemoveForm, _remove, "The log is taken out."),
    "caution": (CautionForm, _caution, "Your name is kept with the cautions."),
}


@login_required
@require_POST
def job_drives_write(request: HttpRequest, job_id: int, what: str) -> HttpResponse:
    """Write one thing; a form that is refused comes back on the page."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    if what not in _WRITES:
        raise Http404("no such form")
    form_class, do, words = _WRITES[what]
    form = form_class(request.POST, request.FILES, prefix=what)
    if tried(form, lambda said: do(found, said, member.user)):
        return done(request, words, "job-drives", found.pk)
    return drives_page(request, found, {what: form})

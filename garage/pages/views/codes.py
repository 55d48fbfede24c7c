"""The trouble codes of a job: kept, cleared by name, and what the vehicle answered."""

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

from garage.evidence.services.code_clearing import codes_clear
from garage.evidence.services.on_board_values import OnBoardChosen, on_board_keep
from garage.evidence.services.trouble_codes import (
    LineTyped,
    code_status_record,
    codes_none_record,
    codes_record,
)
from garage.pages.codes_page import codes_page
from garage.pages.evidence_page import phase_asked
from garage.pages.forms.codes import (
    ClearForm,
    KeepValuesForm,
    LineForm,
    NoneForm,
    StatusForm,
    ValuesForm,
)
from garage.pages.in_view import in_view
from garage.pages.write import acting, done, now, tried
from garage.records.models import Job
from garage.records.selectors import access_job


@login_required
@require_safe
def job_codes(request: HttpRequest, job_id: int) -> HttpResponse:
    return codes_page(request, access_job(scope=in_view(request).scope, job_id=job_id))


def _line(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    codes_record(job=job, said=LineTyped(**said), at=now(), by=by)


def _status(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    code = get_object_or_404(job.codes_read, pk=said["code"])
    code_status_record(code_read=code, status_byte=said["status_byte"], at=now(), by=by)


def _clear(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    codes_clear(job=job, code_ids=said["codes"], name=said["name"], at=now(), by=by)


def _none(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    codes_none_record(job=job, phase=said["phase"], at=now(), by=by)


def _keep(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    chosen = OnBoardChosen(**{**said, "chosen": tuple(said.get("chosen", ()))})
    on_board_keep(job=job, said=chosen, at=now(), by=by)


@dataclass(frozen=True)
class _Write:
    """A form, what it does, and what is said then."""

    form: Callable[[HttpRequest, Job], forms.Form]
    do: Callable[[Job, dict[str, Any], AbstractBaseUser], None]
    words: str


_WRITES = {
    "line": _Write(lambda r, _: LineForm(r.POST, prefix="line"), _line, "The codes are kept."),
    "status": _Write(
        lambda r, _: StatusForm(r.POST, prefix="status"), _status, "The status byte is kept."
    ),
    "clear": _Write(
        lambda r, job: ClearForm(r.POST, prefix="clear", job=job),
        _clear,
        "The clearing is kept, as a clearing.",
    ),
    "none": _Write(
        lambda r, _: NoneForm(r.POST, prefix="none"), _none, "It is kept that none was stored."
    ),
    "keep": _Write(lambda r, _: KeepValuesForm.sent(r.POST), _keep, "The values are kept."),
}


@login_required
@require_POST
def job_codes_write(request: HttpRequest, job_id: int, what: str) -> HttpResponse:
    """Write one thing; a form that is refused comes back on the page, at its phase."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    if what not in _WRITES:
        raise Http404("no such form")
    write = _WRITES[what]
    form = write.form(request, found)
    if tried(form, lambda said: write.do(found, said, member.user)):
        phase = form.cleaned_data.get("phase") or phase_asked(request.GET.get("phase"))
        address = reverse("job-codes", args=[found.pk])
        return done(request, write.words, f"{address}?phase={phase}")
    return codes_page(request, found, {what: form})


@login_required
@require_POST
def job_values_read(request: HttpRequest, job_id: int) -> HttpResponse:
    """Tell what pasted answers say; nothing is kept, so who may look may ask."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    return codes_page(request, found, {"values": ValuesForm(request.POST, prefix="values")})

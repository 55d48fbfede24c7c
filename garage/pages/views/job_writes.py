"""What is written at a job: facts, operations, looks, readings, advice, its end."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from garage.evidence.services.readings import NewReading, reading_add
from garage.pages.forms.documents import DocumentForm, upload_of
from garage.pages.forms.jobs import (
    AdviceAnswerForm,
    AdviceForm,
    ClosingForm,
    ComebackForm,
    FactsForm,
    OperationForm,
    ReadingForm,
    ReopenForm,
)
from garage.pages.in_view import in_view
from garage.pages.job_page import job_page
from garage.pages.looks import answers_taken, look_forms
from garage.pages.respond import page
from garage.pages.write import acting, done, not_done, now, tried
from garage.records.jobs import access_advice, access_operation, access_review
from garage.records.models import Job, Operation
from garage.records.policies import Closing
from garage.records.selectors import access_job
from garage.records.services.advice_given import advice_add, advice_answer
from garage.records.services.comeback_reviews import comeback_answer
from garage.records.services.documents import document_add
from garage.records.services.jobs import JobFacts, job_change, job_close, job_reopen
from garage.records.services.looks import look_record
from garage.records.services.operations import (
    OperationFacts,
    operation_add,
    operation_change,
    operation_remove,
)

Do = Callable[[Job, dict[str, Any], AbstractBaseUser], Any]


def _change(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    kept = {name: getattr(job, name) for name in ("findings", "cause", "cause_note")}
    job_change(job=job, facts=JobFacts(**said, **kept), at=now(), by=by)


def _document(job: Job, said: dict[str, Any], by: AbstractBaseUser) -> None:
    document_add(belongs_to=job, upload=upload_of(said), at=now(), by=by)


#: What is written, by the name it is sent under: the form, what to do, and what is said then.
WRITES: dict[str, tuple[type[forms.Form], Do, str]] = {
    "facts": (FactsForm, _change, "The job is changed."),
    "operation": (
        OperationForm,
        lambda job, said, by: operation_add(job=job, facts=OperationFacts(**said), at=now(), by=by),
        "The operation is added.",
    ),
    "reading": (
        ReadingForm,
        lambda job, said, by: reading_add(job=job, new=NewReading(**said), at=now(), by=by),
        "The reading is added.",
    ),
    "advice": (
        AdviceForm,
        lambda job, said, by: advice_add(job=job, text=said["text"], at=now(), by=by),
        "The advice is written down.",
    ),
    "document": (DocumentForm, _document, "The document is kept."),
    "close": (
        ClosingForm,
        lambda job, said, by: job_close(job=job, closing=Closing(**said), at=now(), by=by),
        "The job is closed.",
    ),
    "reopen": (
        ReopenForm,
        lambda job, said, by: job_reopen(job=job, reason=said["reason"], at=now(), by=by),
        "The job is open again.",
    ),
}


#: Forms that offer what the job's organisation has.
_OF_ORGANISATION = (FactsForm, ReadingForm)


@login_required
@require_POST
def job_write(request: HttpRequest, job_id: int, what: str) -> HttpResponse:
    """Write one thing at a job; a form that is refused comes back on the job's page."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    if what not in WRITES:
        raise Http404("no such form")
    form_class, do, words = WRITES[what]
    more: dict[str, Any] = (
        {"organisation_id": found.organisation_id} if form_class in _OF_ORGANISATION else {}
    )
    form = form_class(request.POST, request.FILES, prefix=what, **more)
    if tried(form, lambda said: do(found, said, member.user)):
        return done(request, words, "job", found.pk)
    return job_page(request, found, {what: form})


@login_required
@require_POST
def job_look(request: HttpRequest, job_id: int) -> HttpResponse:
    """Answer whether the parts in place are those last recorded."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    member = acting(request, found.organisation_id)
    asked = look_forms(found.vehicle, request.POST)

    def keep(_: dict[str, Any]) -> None:
        looks, stated = answers_taken(asked)
        with transaction.atomic():
            for look in looks:
                look_record(job=found, look=look, at=now(), by=member.user)
            for operation in stated:
                operation_add(job=found, facts=operation, at=now(), by=member.user)

    form = forms.Form(request.POST)
    if all(each.form.is_valid() for each in asked) and tried(form, keep):
        return done(request, "The look is written down.", "job", found.pk)
    return not_done(request, form, "job", found.pk)


@login_required
@require_POST
def comeback_decide(request: HttpRequest, review_id: int) -> HttpResponse:
    """Confirm or refuse that a job is the comeback of an earlier one."""
    review = access_review(scope=in_view(request).scope, review_id=review_id)
    member = acting(request, review.job.organisation_id)
    form = ComebackForm(request.POST, prefix=f"comeback-{review.pk}")
    if tried(form, lambda said: comeback_answer(review=review, **said, at=now(), by=member.user)):
        return done(request, "The answer is kept.", "job", review.job_id)
    return job_page(request, review.job, {f"comeback-{review.pk}": form})


@login_required
@require_POST
def advice_decide(request: HttpRequest, advice_id: int) -> HttpResponse:
    """Write down what the customer chose or declined."""
    advice = access_advice(scope=in_view(request).scope, advice_id=advice_id)
    member = acting(request, advice.job.organisation_id)
    form = AdviceAnswerForm(request.POST, prefix=f"answer-{advice.pk}")
    if tried(form, lambda said: advice_answer(advice=advice, **said, at=now(), by=member.user)):
        return done(request, "The answer is kept.", "job", advice.job_id)
    return job_page(request, advice.job, {f"answer-{advice.pk}": form})


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def operation(request: HttpRequest, operation_id: int) -> HttpResponse:
    """Change one operation of an open job, or take it off."""
    view = in_view(request)
    found = access_operation(scope=view.scope, operation_id=operation_id)
    member = acting(request, found.job.organisation_id)
    if "remove" in request.POST:
        bare = forms.Form(request.POST)
        if tried(bare, lambda _: operation_remove(operation=found, at=now(), by=member.user)):
            return done(request, "The operation is taken off.", "job", found.job_id)
        return not_done(request, bare, "operation", found.pk)
    form = OperationForm(request.POST or None, initial=_operation_said(found))

    def change(said: dict[str, Any]) -> None:
        facts = OperationFacts(**said)
        operation_change(operation=found, facts=facts, at=now(), by=member.user)

    if request.method == "POST" and tried(form, change):
        return done(request, "The operation is changed.", "job", found.job_id)
    return page(request, "operation.html", view, None, form=form, operation=found)


def _operation_said(operation: Operation) -> dict[str, Any]:
    names = (each for each in OperationForm.base_fields if hasattr(operation, each))
    said = {name: getattr(operation, name) for name in names}
    return said | {
        "operation": operation.kind,
        "last_sound_odometer": operation.last_sound_km,
        "unit": "km",
    }

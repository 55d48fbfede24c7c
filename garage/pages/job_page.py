"""A job's page: everything said at it, with the forms by which more is said."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse

from garage.evidence.quantities.catalogue import quantities
from garage.pages.cautions import DEFER, cautions_for
from garage.pages.forms.documents import DocumentForm
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
from garage.pages.history_rows import (
    current_mark,
    elsewhere_told,
    operation_told,
    reading_told,
)
from garage.pages.in_view import in_view
from garage.pages.looks import look_forms
from garage.pages.respond import page
from garage.pages.trail import trail_told
from garage.pages.write import may_write, today
from garage.records.choices import ComebackState, CustomerAnswer, JobPhase, OperationKind, System
from garage.records.jobs import JobSheet, job_sheet, was_exchanged
from garage.records.models import Job
from garage.records.services.warranties import FITTING_KINDS

Forms = dict[str, forms.Form]
#: What an address may say of the reading to be added.
_ASKED_OF_READING = ("quantity", "condition", "phase")


def job_page(request: HttpRequest, job: Job, wrong: Forms | None = None) -> HttpResponse:
    """The page; `wrong` are forms that were sent and refused, by their name."""
    sheet = job_sheet(job=job)
    view = in_view(request)
    titles = {key: each.title for key, each in quantities().items()}
    return page(
        request,
        "job.html",
        view,
        None,
        sheet=sheet,
        job=job,
        mark=current_mark(job.vehicle),
        system=System(job.system).label,
        odometer=None if sheet.reading is None else reading_told(sheet.reading),
        told_elsewhere=elsewhere_told(job.repaired_elsewhere),
        operations=[
            (each, operation_told(each), each.part_kind is not None and each.kind in FITTING_KINDS)
            for each in sheet.operations
        ],
        readings=[
            (each, titles.get(each.quantity, each.quantity), f"{each.value.normalize():f}")
            for each in sheet.readings
        ],
        trail=trail_told(scope=view.scope, thing="job", thing_id=job.pk),
        cautions=cautions_for(job.system),
        cautions_defer=DEFER,
        may_write=may_write(request, job.organisation_id),
        reading_asked=any(name in request.GET for name in _ASKED_OF_READING),
        **_forms(job, sheet, wrong or {}, _reading_asked(request)),
    )


def _reading_asked(request: HttpRequest) -> dict[str, str]:
    """What the address says of the reading to be added; on arrival where it does not."""
    asked = {name: request.GET[name] for name in _ASKED_OF_READING if name in request.GET}
    return {"phase": JobPhase.ARRIVAL} | asked


def _forms(job: Job, sheet: JobSheet, wrong: Forms, reading: dict[str, str]) -> dict[str, Any]:
    """The forms that this state of the job allows."""
    offered: Forms = {"document": DocumentForm(prefix="document")}
    if job.closed_on is None:
        offered |= {
            "facts": FactsForm(
                organisation_id=job.organisation_id, initial=_facts_of(job, sheet), prefix="facts"
            ),
            "operation": OperationForm(
                prefix="operation", initial={"operation": OperationKind.REPLACE}
            ),
            "close": ClosingForm(
                prefix="close",
                initial={
                    "closed_on": today(),
                    "cause": job.cause,
                    "cause_note": job.cause_note,
                    "findings": job.findings,
                },
            ),
        }
    else:
        offered["reopen"] = ReopenForm(prefix="reopen")
    offered |= {
        "advice": AdviceForm(prefix="advice"),
        "reading": ReadingForm(
            organisation_id=job.organisation_id,
            prefix="reading",
            initial=reading,
        ),
    }
    return {
        "forms": offered | {name: each for name, each in wrong.items() if name in offered},
        "look_waits": any(each.place == "look" for each in sheet.waits),
        "asked": look_forms(job.vehicle, None) if _asks_for_a_look(sheet) else [],
        "advice": [(each, _answer_form(each, wrong)) for each in sheet.advice],
        "comebacks": [(each, _comeback_form(each, wrong)) for each in sheet.comebacks],
    }


def _asks_for_a_look(sheet: JobSheet) -> bool:
    return sheet.job.closed_on is None and not was_exchanged(sheet.operations)


def _answer_form(advice: Any, wrong: Forms) -> forms.Form | None:
    if advice.answer != CustomerAnswer.OPEN:
        return None
    prefix = f"answer-{advice.pk}"
    return wrong.get(prefix) or AdviceAnswerForm(prefix=prefix)


def _comeback_form(review: Any, wrong: Forms) -> forms.Form:
    prefix = f"comeback-{review.pk}"
    state = "" if review.state == ComebackState.PROPOSED else review.state
    initial = {"state": state, "reason": review.reason}
    return wrong.get(prefix) or ComebackForm(prefix=prefix, initial=initial)


def _facts_of(job: Job, sheet: JobSheet) -> dict[str, Any]:
    planned = {True: "yes", False: "no", None: ""}[job.planned]
    read = sheet.reading
    return {
        "system": job.system,
        "planned": planned,
        "complaint": job.complaint,
        "trouble_codes": job.trouble_codes,
        "odometer": None if read is None else read.typed,
        "unit": None if read is None else read.unit,
        "elsewhere": FactsForm.ticked(job.repaired_elsewhere),
        "technician_id": job.technician_id,
    }

"""Jobs: the list, one that is opened, and one with everything said at it."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from garage.pages.forms.jobs import OpenForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.job_page import job_page
from garage.pages.looks import answers_taken, look_forms
from garage.pages.respond import page, pdf_answer
from garage.pages.sheets.job import job_sheet_pdf
from garage.pages.write import acting, done, now, today, tried
from garage.records.choices import Cause, DistanceUnit, DocumentKind, System
from garage.records.documents import Upload
from garage.records.jobs import OPEN, causes_counted, job_sheet, jobs_listed
from garage.records.models import Job, OdometerReading, Vehicle
from garage.records.selectors import access_family, access_job, access_vehicle, families_in_scope
from garage.records.services.documents import document_add
from garage.records.services.jobs import JobFacts, NewJob, job_open

JOBS_A_PAGE = 50
STATES = {OPEN: "Open", "closed": "Closed", "all": "All"}


@login_required
@require_safe
def jobs(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    state = request.GET.get("state", OPEN)
    state = state if state in STATES else OPEN
    listed = jobs_listed(scope=view.scope, state=state)
    shown = Paginator(listed, JOBS_A_PAGE).get_page(request.GET.get("page"))
    return page(
        request,
        "jobs.html",
        view,
        None,
        state=state,
        states=STATES,
        shown=shown,
        query=f"state={state}",
        rows=[
            (
                each,
                current_mark(each.vehicle),
                System(each.system).label,
                len(each.operations.all()),
            )
            for each in shown
        ],
    )


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def job_new(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    """Open a job of this vehicle."""
    view = in_view(request)
    found = access_vehicle(scope=view.scope, vehicle_id=vehicle_id)
    member = acting(request, found.organisation_id)
    sent = request.POST if request.method == "POST" else None
    form = OpenForm(
        sent,
        request.FILES if sent else None,
        organisation_id=found.organisation_id,
        initial={"opened_on": today(), "unit": _unit_of(found), "technician_id": member.user_id},
    )
    asked = look_forms(found, sent)
    opened: list[Job] = []

    def begin(said: dict[str, Any]) -> None:
        opened.append(_opened(found, said, asked, member.user))

    if sent and all(each.form.is_valid() for each in asked) and tried(form, begin):
        return done(request, "The job is open.", "job", opened[-1].pk)
    mark = current_mark(found)
    return page(
        request, "job_new.html", view, None, form=form, asked=asked, vehicle=found, mark=mark
    )


@login_required
@require_safe
def job(request: HttpRequest, job_id: int) -> HttpResponse:
    return job_page(request, access_job(scope=in_view(request).scope, job_id=job_id))


@login_required
@require_safe
def job_print(request: HttpRequest, job_id: int) -> HttpResponse:
    """The sheet that a customer takes home, as PDF."""
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    pdf = job_sheet_pdf(job_sheet(job=found), made_on=today())
    return pdf_answer(pdf, name=f"job-{found.pk}")


@login_required
@require_safe
def causes(request: HttpRequest) -> HttpResponse:
    """Why filters were replaced or cleaned, counted; “not found” too."""
    view = in_view(request)
    code = request.GET.get("engine_family", "")
    family = access_family(scope=view.scope, family_id=int(code)) if code.isdigit() else None
    counted = causes_counted(scope=view.scope, family_id=None if family is None else family.pk)
    total = sum(count for _, count in counted)
    return page(
        request,
        "causes.html",
        view,
        None,
        family=family,
        families=families_in_scope(scope=view.scope),
        total=total,
        rows=[
            (Cause(cause).label if cause else "none written", count, count / total)
            for cause, count in counted
        ],
        written=sum(count for cause, count in counted if cause),
        not_found=sum(count for cause, count in counted if cause == Cause.NOT_FOUND),
    )


def _opened(vehicle: Vehicle, said: dict[str, Any], asked: Any, by: Any) -> Job:
    photo = said.pop("photo")
    opened_on, ref = said.pop("opened_on"), said.pop("ref")
    looks, operations = answers_taken(asked)
    new = NewJob(opened_on, JobFacts(**said), ref, looks, operations)
    with transaction.atomic():
        job = job_open(vehicle=vehicle, new=new, at=now(), by=by)
        if photo is not None:
            words = "Number or mark of the filter in place"
            upload = Upload(words, DocumentKind.PHOTO, photo.file, photo.size)
            document_add(belongs_to=job, upload=upload, at=now(), by=by)
    return job


def _unit_of(vehicle: Vehicle) -> str:
    """The unit its odometer was last read in."""
    last = OdometerReading.objects.filter(vehicle=vehicle).order_by("-read_on", "-pk").first()
    return DistanceUnit.KM if last is None else last.unit

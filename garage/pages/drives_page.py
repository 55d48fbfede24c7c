"""The page of a job's logs, gathered."""

from collections.abc import Mapping

from django import forms
from django.http import HttpRequest, HttpResponse

from garage.evidence.jobs.drives import job_drives
from garage.evidence.own_limits import limits_for
from garage.pages.cautions import DEFER
from garage.pages.drives_told import (
    intervals_table,
    logs_told,
    rate_words,
    summary_table,
    trend_words,
)
from garage.pages.evidence_page import cautions_told
from garage.pages.forms.drives import DriveForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import may_write
from garage.records.choices import JobPhase
from garage.records.models import Job

Forms = Mapping[str, forms.Form]
_AFTER = (JobPhase.AFTER_WORK, JobPhase.RECHECK)
#: A log is made on the road, or of a burn at standstill.
_PROCEDURES = ["road_drive", "burn"]


def drives_page(request: HttpRequest, job: Job, wrong: Forms | None = None) -> HttpResponse:
    """The page; `wrong` are forms that were sent and refused, by their name."""
    view, refused = in_view(request), wrong or {}
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id).drives
    drives = job_drives(job=job, limits=limits)
    logs = logs_told(drives, limits["burn_proven_c"])
    after = next((each for each in logs if each.of.log.phase in _AFTER), None)
    return page(
        request,
        "drives.html",
        view,
        None,
        job=job,
        mark=current_mark(job.vehicle),
        logs=logs,
        after=after,
        after_rate="" if after is None else rate_words(after.judged),
        summary=summary_table(drives),
        targets=drives.targets,
        intervals=intervals_table(drives.intervals),
        logged=None if drives.logged is None else trend_words(drives.logged),
        reckoned=None if drives.reckoned is None else trend_words(drives.reckoned),
        has_charts=any(chart.spec for each in logs for chart in each.charts),
        drive_form=refused.get("add") or DriveForm(prefix="add"),
        wrong_remove=refused.get("remove"),
        cautions=cautions_told(job, _PROCEDURES, dict(refused)),
        cautions_defer=DEFER,
        may_write=may_write(request, job.organisation_id),
    )

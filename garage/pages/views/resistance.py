"""The resistance of a job's filter, with its ash budget and soot balance."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.evidence_page import phase_asked
from garage.pages.in_view import in_view
from garage.pages.resistance_page import resistance_page
from garage.records.selectors import access_job


@login_required
@require_safe
def job_resistance(request: HttpRequest, job_id: int) -> HttpResponse:
    found = access_job(scope=in_view(request).scope, job_id=job_id)
    return resistance_page(request, found, phase_asked(request.GET.get("phase")))

"""Looks that are missing, calls that are not made, and what they would be worth."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.in_view import in_view
from garage.pages.looks_told import looks_told
from garage.pages.reports import report_read
from garage.pages.respond import page
from garage.records.call_lists import call_lists_waiting


@login_required
@require_safe
def looks(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    reading = report_read(request, view)
    told = [] if reading.report is None else looks_told(reading.report)
    waiting = call_lists_waiting(scope=view.scope)
    return page(request, "looks.html", view, reading, told=told, waiting=waiting)

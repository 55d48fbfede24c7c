"""A vehicle's history."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.in_view import in_view
from garage.pages.reports import report_read
from garage.pages.respond import page
from garage.pages.vehicle_sheet import vehicle_sheet
from garage.pages.write import may_write
from garage.records.selectors import access_vehicle, vehicle_history


@login_required
@require_safe
def vehicle(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    view = in_view(request)
    found = access_vehicle(scope=view.scope, vehicle_id=vehicle_id)
    reading = report_read(request, view)
    sheet = vehicle_sheet(history=vehicle_history(vehicle=found), reading=reading)
    return page(
        request,
        "vehicle.html",
        view,
        reading,
        sheet=sheet,
        may_write=may_write(request, found.organisation_id),
    )

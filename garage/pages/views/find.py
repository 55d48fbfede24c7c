"""The start page: find a vehicle, and what is newest."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from garage.pages.flags import flags_told
from garage.pages.history_rows import current_mark
from garage.pages.in_view import InView, in_view
from garage.pages.reports import family_counts, report_read
from garage.pages.respond import page
from garage.records.permissions import organisations_owned
from garage.records.selectors import MOST_FOUND, families_in_scope, vehicles_find

#: Flags on the start page: as many as one reads before looking for a vehicle.
FLAGS_SHOWN = 5


@login_required
@require_safe
def start(request: HttpRequest) -> HttpResponse:
    """Find a vehicle by registration, VIN or own reference; else show what is newest."""
    view = in_view(request)
    wanted = request.GET.get("q", "").strip()
    if wanted:
        return _found(request, view, wanted)
    reading = report_read(request, view)
    flags = [] if reading.report is None else reading.report["early_failures"]["flags"]
    counts = family_counts(reading.report)
    families = families_in_scope(scope=view.scope)
    return page(
        request,
        "start.html",
        view,
        reading,
        flags=flags_told(flags[:FLAGS_SHOWN]),
        flag_count=len(flags),
        owned=organisations_owned(request.user),
        families=[(family, counts.get(family.name)) for family in families],
    )


def _found(request: HttpRequest, view: InView, wanted: str) -> HttpResponse:
    found = list(vehicles_find(scope=view.scope, text=wanted))
    # An annotation of the selector: 0 is an exact match.
    exact = [vehicle for vehicle in found if vars(vehicle)["nearness"] == 0]
    if len(exact) == 1:
        return redirect("vehicle", vehicle_id=exact[0].pk)
    return page(
        request,
        "found.html",
        view,
        None,
        wanted=wanted,
        found=[(vehicle, current_mark(vehicle)) for vehicle in found],
        cut_off=len(found) == MOST_FOUND,
    )

"""The odometer of a vehicle: its ledger, what is in doubt, and what a person decides."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_POST, require_safe

from garage.pages.forms.odometer import ClusterForm, DayForm, OdometerForm, ResolveForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.odometer_sheet import annual_told, distance_told, odometer_sheet
from garage.pages.respond import page
from garage.pages.write import acting, done, may_write, now, today, tried
from garage.records.models import OdometerReading, Vehicle
from garage.records.selectors import access_reading, access_vehicle, vehicles_in_doubt
from garage.records.services.reading_resolutions import (
    Decision,
    NewCluster,
    NewOdometer,
    cluster_replace,
    odometer_add,
    reading_resolve,
    resolution_withdraw,
)

VEHICLES_A_PAGE = 50
#: What a form of the page adds, by the name it is sent under.
ADDS: dict[str, type[forms.Form]] = {"reading": OdometerForm, "cluster": ClusterForm}


@login_required
@require_safe
def odometers(request: HttpRequest) -> HttpResponse:
    """Vehicles with readings to decide on."""
    view = in_view(request)
    listed = vehicles_in_doubt(scope=view.scope)
    shown = Paginator(listed, VEHICLES_A_PAGE).get_page(request.GET.get("page"))
    rows = [(each, current_mark(each)) for each in shown]
    return page(request, "odometers.html", view, None, shown=shown, rows=rows)


@login_required
@require_safe
def odometer(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    found = access_vehicle(scope=in_view(request).scope, vehicle_id=vehicle_id)
    return _ledger(request, found)


@login_required
@require_POST
def odometer_adds(request: HttpRequest, vehicle_id: int, what: str) -> HttpResponse:
    """Add a reading without a job, or a replaced instrument."""
    found = access_vehicle(scope=in_view(request).scope, vehicle_id=vehicle_id)
    member = acting(request, found.organisation_id)
    if what not in ADDS:
        raise Http404("no such form")
    form = ADDS[what](request.POST, prefix=what)

    def add(said: dict[str, Any]) -> None:
        if what == "reading":
            odometer_add(vehicle=found, new=NewOdometer(**said), at=now(), by=member.user)
        else:
            cluster_replace(vehicle=found, new=NewCluster(**said), at=now(), by=member.user)

    if tried(form, add):
        return done(request, "It is recorded.", "odometer", found.pk)
    return _ledger(request, found, wrong={what: form})


@login_required
@require_POST
def reading_decide(request: HttpRequest, reading_id: int) -> HttpResponse:
    """Decide on one reading, or take the decision back."""
    reading = access_reading(scope=in_view(request).scope, reading_id=reading_id)
    member = acting(request, reading.vehicle.organisation_id)
    if "take_back" in request.POST:
        form: forms.Form = forms.Form(request.POST)
        decided = tried(
            form, lambda _: resolution_withdraw(reading=reading, at=now(), by=member.user)
        )
    else:
        form = ResolveForm(request.POST)
        decided = tried(
            form,
            lambda said: reading_resolve(
                reading=reading, decision=_decision(reading, said), at=now(), by=member.user
            ),
        )
    if decided:
        return done(
            request, "Decided. All readings were judged anew.", "odometer", reading.vehicle_id
        )
    return _ledger(request, reading.vehicle, wrong={f"reading-{reading.pk}": form})


def _decision(reading: OdometerReading, said: dict[str, Any]) -> Decision:
    """A distance without a unit is in the unit that was typed."""
    unit = said["unit"]
    if said["typed"] is not None and not unit:
        unit = reading.unit
    return Decision(**said | {"unit": unit})


def _ledger(
    request: HttpRequest, vehicle: Vehicle, wrong: dict[str, forms.Form] | None = None
) -> HttpResponse:
    asked = DayForm(request.GET)
    asked_on = asked.cleaned_data["on"] if asked.is_valid() else None
    sheet = odometer_sheet(vehicle=vehicle, asked_on=asked_on)
    wrong = wrong or {}
    adds = {
        what: wrong.get(what)
        or form_class(prefix=what, initial={"read_on": today(), "done_on": today()})
        for what, form_class in ADDS.items()
    }
    rows = [
        (
            row,
            wrong.get(f"reading-{row.told.reading.pk}")
            or ResolveForm(auto_id=f"id_{row.told.reading.pk}_%s"),
        )
        for row in sheet.rows
    ]
    return page(
        request,
        "odometer.html",
        in_view(request),
        None,
        sheet=sheet,
        rows=rows,
        mark=current_mark(vehicle),
        annual="" if sheet.annual is None else annual_told(sheet.annual),
        on="" if sheet.on is None else distance_told(sheet.on),
        asked=asked,
        asked_on=asked_on,
        adds=adds,
        may_write=may_write(request, vehicle.organisation_id),
    )

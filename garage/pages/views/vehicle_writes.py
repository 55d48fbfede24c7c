"""Add a vehicle, change what is known of it, its registration and its keeper."""

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.pages.forms.vehicles import KeeperForm, MarkForm, NewVehicleForm, VehicleForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.trail import trail_told
from garage.pages.write import acting, done, now, today, tried
from garage.records.choices import Role
from garage.records.models import Vehicle
from garage.records.permissions import may_act
from garage.records.selectors import access_vehicle
from garage.records.services.vehicles import (
    KeeperFacts,
    VehicleFacts,
    keeper_set,
    registration_change,
    vehicle_add,
    vehicle_change,
)

FORMS: dict[str, type[forms.Form]] = {
    "facts": VehicleForm,
    "mark": MarkForm,
    "keeper": KeeperForm,
}


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def vehicle_new(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    initial = {"mark": request.GET.get("mark", "")[:20].upper()}
    form = NewVehicleForm(request.POST or None, organisations=view.shown, initial=initial)
    added: list[Vehicle] = []

    def add(said: dict[str, Any]) -> None:
        organisation, mark = said.pop("organisation"), said.pop("mark")
        member = acting(request, organisation.pk)
        facts = VehicleFacts(**said)
        added.append(
            vehicle_add(organisation=organisation, facts=facts, mark=mark, at=now(), by=member.user)
        )

    if request.method == "POST" and tried(form, add):
        return done(request, "The vehicle is added.", "vehicle", added[0].pk)
    families = VehicleForm.families()
    return page(request, "vehicle_new.html", view, None, form=form, families=families)


@login_required
@require_safe
def vehicle_facts(request: HttpRequest, vehicle_id: int) -> HttpResponse:
    found = access_vehicle(scope=in_view(request).scope, vehicle_id=vehicle_id)
    acting(request, found.organisation_id)
    return _facts_page(request, found)


@login_required
@require_POST
def vehicle_write(request: HttpRequest, vehicle_id: int, what: str) -> HttpResponse:
    """Change the facts, the registration or the keeper."""
    found = access_vehicle(scope=in_view(request).scope, vehicle_id=vehicle_id)
    member = acting(request, found.organisation_id)
    if what not in FORMS:
        raise Http404("no such form")
    form = FORMS[what](request.POST, prefix=what)

    def change(said: dict[str, Any]) -> None:
        if what == "facts":
            vehicle_change(vehicle=found, facts=VehicleFacts(**said), at=now(), by=member.user)
        elif what == "mark":
            registration_change(vehicle=found, **said, at=now(), by=member.user)
        else:
            keeper_set(vehicle=found, keeper=KeeperFacts(**said), at=now(), by=member.user)

    if tried(form, change):
        return done(request, "It is recorded.", "vehicle-facts", found.pk)
    return _facts_page(request, found, {what: form})


def _facts_page(
    request: HttpRequest, vehicle: Vehicle, wrong: dict[str, forms.Form] | None = None
) -> HttpResponse:
    view = in_view(request)
    keepers = list(vehicle.keepers.order_by("pk"))
    current = next((each for each in keepers if each.until_on is None), None)
    keeper = {} if current is None else vars(current)
    offered = {
        "facts": VehicleForm(prefix="facts", initial=_said_of(vehicle)),
        "mark": MarkForm(prefix="mark", initial={"from_on": today()}),
        "keeper": KeeperForm(
            prefix="keeper", initial={name: keeper.get(name) for name in ("name", "phone", "email")}
        ),
    }
    return page(
        request,
        "vehicle_facts.html",
        view,
        None,
        vehicle=vehicle,
        mark=current_mark(vehicle),
        marks=list(vehicle.marks.order_by("pk")),
        keepers=keepers,
        forms=offered | (wrong or {}),
        families=VehicleForm.families(),
        is_owner=may_act(request.user, vehicle.organisation_id, least=Role.OWNER),
        trail=trail_told(scope=view.scope, thing="vehicle", thing_id=vehicle.pk),
    )


def _said_of(vehicle: Vehicle) -> dict[str, Any]:
    family = vehicle.engine_family
    said = {name: getattr(vehicle, name) for name in VehicleForm.base_fields}
    return said | {
        "engine_family": "" if family is None else family.name,
        "watched_from_new": {True: "yes", False: "no", None: ""}[vehicle.watched_from_new],
    }

"""Call lists: draw one, call, and write down the answers."""

import secrets
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_safe

from garage.pages.forms.calls import AnswerForm, DrawForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, may_write, now, today, tried
from garage.records.call_lists import (
    access_call,
    access_call_list,
    call_figures,
    call_lists_listed,
    calls_of_list,
)
from garage.records.models import Call, CallList
from garage.records.services.call_lists import CallAnswer, CallDraw, call_answer, call_list_draw

#: A seed of this many bits is kept with the list, so that the draw can be made again.
SEED_BITS = 32


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def call_lists(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    form = DrawForm(request.POST or None, organisations=view.shown)
    drawn: list[CallList] = []

    def draw(said: dict[str, Any]) -> None:
        organisation = said.pop("organisation")
        member = acting(request, organisation.pk)
        wanted = CallDraw(**said, as_of=today(), seed=secrets.randbits(SEED_BITS))
        drawn.append(
            call_list_draw(organisation=organisation, draw=wanted, at=now(), by=member.user)
        )

    if request.method == "POST" and tried(form, draw):
        return done(request, "The list is drawn.", "call-list", drawn[0].pk)
    return page(
        request,
        "call_lists.html",
        view,
        None,
        lists=call_lists_listed(scope=view.scope),
        form=form,
    )


@login_required
@require_safe
def call_list(request: HttpRequest, call_list_id: int) -> HttpResponse:
    found = access_call_list(scope=in_view(request).scope, call_list_id=call_list_id)
    return page(
        request,
        "call_list.html",
        in_view(request),
        None,
        call_list=found,
        figures=call_figures(call_list=found),
        calls=[
            (call, keeper, current_mark(call.vehicle))
            for call, keeper in calls_of_list(call_list=found)
        ],
        may_write=may_write(request, found.organisation_id),
    )


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def call(request: HttpRequest, call_id: int) -> HttpResponse:
    found = access_call(scope=in_view(request).scope, call_id=call_id)
    member = acting(request, found.call_list.organisation_id)
    form = AnswerForm(request.POST or None, initial=_said_before(found))

    def answer(said: dict[str, Any]) -> None:
        asked = said.pop("asked_systems")
        systems = said.pop("repaired_elsewhere")
        # Ticking a system says that it was asked; ticking none, only with the box.
        told = systems if asked or systems else None
        call_answer(
            call=found,
            answer=CallAnswer(**said, repaired_elsewhere=told),
            at=now(),
            by=member.user,
        )

    if request.method == "POST" and tried(form, answer):
        return done(request, "The answer is kept.", "call-list", found.call_list_id)
    return page(
        request,
        "call.html",
        in_view(request),
        None,
        call=found,
        mark=current_mark(found.vehicle),
        form=form,
    )


def _said_before(found: Call) -> dict[str, Any]:
    words = {None: "", True: "yes", False: "no"}
    return {
        "state": found.state,
        "called_on": found.called_on or today(),
        "outcome": found.outcome,
        "ended_on": found.vehicle.ended_on,
        "part_replaced_elsewhere": words[found.part_replaced_elsewhere],
        "will_return": words[found.will_return],
        "asked_systems": found.repaired_elsewhere is not None,
        "repaired_elsewhere": found.repaired_elsewhere or [],
        "note": found.note,
    }

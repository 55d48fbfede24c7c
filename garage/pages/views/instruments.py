"""A workshop's instruments: listed, added, changed, and units of theirs taken back."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from garage.evidence.instruments import (
    access_instrument,
    access_unit_confirmed,
    instruments_listed,
)
from garage.evidence.services.display_units import unit_unconfirm
from garage.evidence.services.instruments import (
    InstrumentFacts,
    instrument_add,
    instrument_change,
)
from garage.pages.forms.instruments import InstrumentForm, NewInstrumentForm
from garage.pages.in_view import in_view
from garage.pages.instruments_told import instrument_told
from garage.pages.respond import page
from garage.pages.write import acting, done, may_write, now, tried
from garage.records.models import Organisation


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def instruments(request: HttpRequest) -> HttpResponse:
    """All instruments in view, and the form that adds one."""
    form = NewInstrumentForm(
        request.POST or None, prefix="new", organisations=_written_for(request)
    )

    def add(said: dict[str, Any]) -> None:
        member = acting(request, said.pop("organisation").pk)
        instrument_add(
            organisation=member.organisation,
            facts=InstrumentFacts(**said),
            at=now(),
            by=member.user,
        )

    if request.method == "POST" and tried(form, add):
        return done(request, "The instrument is kept.", "instruments")
    return _listed(request, form)


@login_required
@require_POST
def instrument(request: HttpRequest, instrument_id: int) -> HttpResponse:
    """Change one; a form that is refused comes back in the list."""
    found = access_instrument(scope=in_view(request).scope, instrument_id=instrument_id)
    member = acting(request, found.organisation_id)
    form = InstrumentForm(request.POST, prefix=f"instrument-{found.pk}")

    def change(said: dict[str, Any]) -> None:
        instrument_change(instrument=found, facts=InstrumentFacts(**said), at=now(), by=member.user)

    if tried(form, change):
        return done(request, "The instrument is changed.", "instruments")
    new = NewInstrumentForm(prefix="new", organisations=_written_for(request))
    return _listed(request, new, {found.pk: form})


@login_required
@require_POST
def unit_taken_back(request: HttpRequest, confirmed_id: int) -> HttpResponse:
    """Take back the unit that somebody confirmed of a display."""
    found = access_unit_confirmed(scope=in_view(request).scope, confirmed_id=confirmed_id)
    member = acting(request, found.instrument.organisation_id)
    changed = unit_unconfirm(confirmed=found, at=now(), by=member.user)
    words = "The unit is taken back; no reading changed by it."
    if changed:
        words = f"The unit is taken back; {changed} reading{'s' * (changed > 1)} changed by it."
    return done(request, words, "instruments")


def _written_for(request: HttpRequest) -> list[Organisation]:
    """Those in view for which one may write."""
    return [each for each in in_view(request).shown if may_write(request, each.pk)]


def _listed(
    request: HttpRequest, new: NewInstrumentForm, wrong: dict[int, InstrumentForm] | None = None
) -> HttpResponse:
    """The list; `wrong` are forms of instruments that were refused."""
    view, refused = in_view(request), wrong or {}
    written_for = _written_for(request)
    writable = {each.pk for each in written_for}
    return page(
        request,
        "instruments.html",
        view,
        None,
        listed=[
            instrument_told(
                each, form=refused.get(each.pk), writable=each.organisation_id in writable
            )
            for each in instruments_listed(scope=view.scope)
        ],
        form=new,
        may_write=bool(written_for),
    )

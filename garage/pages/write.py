"""Take a form, do what it asks, and say what came of it."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import Membership
from garage.records.permissions import access_member, may_act


def now() -> datetime:
    """The clock, read here and handed down: nothing below the pages reads it."""
    return timezone.now()


def today() -> date:
    return timezone.localdate()


def acting(
    request: HttpRequest, organisation_id: int, *, least: Role = Role.TECHNICIAN
) -> Membership:
    """The membership by which the signed-in person writes; 404 or a refusal in words else."""
    return access_member(request.user, organisation_id, least=least)


def may_write(request: HttpRequest, organisation_id: int) -> bool:
    """Whether a page should offer what a technician may do."""
    return may_act(request.user, organisation_id, least=Role.TECHNICIAN)


def done(request: HttpRequest, words: str, to: str, *args: Any) -> HttpResponse:
    """Say that it is done, on the page one goes to."""
    messages.success(request, words)
    return redirect(to, *args)


def not_done(request: HttpRequest, form: forms.Form, to: str, *args: Any) -> HttpResponse:
    """Say why a bare button could not do what it says."""
    for words in form.non_field_errors():
        messages.error(request, str(words))
    return redirect(to, *args)


def tried(form: forms.Form, do: Callable[[dict[str, Any]], Any]) -> bool:
    """Whether the form holds and could be done; else the form says why not, and loses nothing."""
    if not form.is_valid():
        return False
    try:
        do(form.cleaned_data)
    except RuleBroken as refused:
        for each in refused.broken:
            # A fault of a field the form does not show still has to be read by somebody.
            column = each.column if each.column in form.fields else None
            form.add_error(column, f"{each.rule}; got {each.got!r}. {each.do}")
        return False
    return True

"""The words of trouble codes as their page tells them: own ones, and those shipped."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from garage.evidence.codes.meanings import Meaning, groups, shipped_meanings
from garage.evidence.own_wordings import own_wordings_listed
from garage.pages.forms.code_words import OwnWordingForm
from garage.pages.in_view import in_view
from garage.pages.limits_page import owned_in_view
from garage.pages.respond import page
from garage.records.models import OwnCodeWording
from garage.records.selectors import families_in_scope


@dataclass(frozen=True)
class OwnTold:
    """Own words; `shipped` are those that they take the place of, empty: none are shipped."""

    own: OwnCodeWording
    group_title: str
    shipped: str
    may_remove: bool


@dataclass(frozen=True)
class GroupTold:
    key: str
    title: str
    meanings: tuple[Meaning, ...]


def own_wording_form(request: HttpRequest) -> OwnWordingForm:
    """The form as it was sent, or as it is asked for: `?code=` names the code."""
    view = in_view(request)
    return OwnWordingForm(
        request.POST if request.method == "POST" else None,
        organisations=owned_in_view(request, view),
        families=families_in_scope(scope=view.scope),
        initial={"code": request.GET.get("code", "")},
    )


def code_words_page(request: HttpRequest, form: OwnWordingForm) -> HttpResponse:
    view = in_view(request)
    owned = {each.pk for each in owned_in_view(request, view)}
    shipped = shipped_meanings()
    return page(
        request,
        "code_words.html",
        view,
        None,
        own=[
            _own_told(row, may_remove=row.organisation_id in owned)
            for row in own_wordings_listed(scope=view.scope)
        ],
        groups=[
            GroupTold(key, title, tuple(each for each in shipped.values() if each.group == key))
            for key, title in groups().items()
        ],
        sources=dict.fromkeys(each.source for each in shipped.values()),
        form=form,
        may_set=bool(owned),
    )


def _own_told(row: OwnCodeWording, *, may_remove: bool) -> OwnTold:
    known = shipped_meanings()
    meaning = known.get(row.code) or known.get(row.code.split("/", maxsplit=1)[0])
    return OwnTold(
        own=row,
        group_title=groups().get(row.group, row.group),
        shipped="" if meaning is None else meaning.words,
        may_remove=may_remove,
    )

"""The limits of the evidence as their page tells them: what is shipped, and what is one's own."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from garage.evidence.limits_shipped import GROUPS, SHIPPED, LimitGroup, range_words, with_unit
from garage.evidence.own_limits import own_thresholds_listed, why_ignored
from garage.evidence.thresholds import Threshold
from garage.pages.forms.limits import LimitsShownForm, OwnLimitForm
from garage.pages.in_view import InView, in_view
from garage.pages.respond import page
from garage.records.models import Organisation, OwnThreshold
from garage.records.permissions import organisations_owned
from garage.records.selectors import families_in_scope


@dataclass(frozen=True, slots=True)
class OwnTold:
    """An own limit; `ignored` says why it holds for nothing, and is empty where it holds."""

    pk: int
    key: str
    value: str
    family: str
    organisation: str
    source: str
    ignored: str
    may_remove: bool


@dataclass(frozen=True, slots=True)
class LimitTold:
    """A limit as shipped, and the own ones in its place."""

    key: str
    title: str
    value: str
    basis: str
    source: str
    range: str
    own: tuple[OwnTold, ...]


@dataclass(frozen=True, slots=True)
class GroupTold:
    key: str
    title: str
    limits: tuple[LimitTold, ...]


def own_limit_form(request: HttpRequest) -> OwnLimitForm:
    """The form as it was sent, or as it is asked for: `?limit=` chooses the limit."""
    view = in_view(request)
    return OwnLimitForm(
        request.POST if request.method == "POST" else None,
        organisations=owned_in_view(request, view),
        families=families_in_scope(scope=view.scope),
        initial={"key": request.GET.get("limit")},
    )


def owned_in_view(request: HttpRequest, view: InView) -> list[Organisation]:
    shown = {each.pk for each in view.shown}
    return [each for each in organisations_owned(request.user) if each.pk in shown]


def limits_page(request: HttpRequest, form: OwnLimitForm) -> HttpResponse:
    view = in_view(request)
    owned = {each.pk for each in owned_in_view(request, view)}
    rows = own_thresholds_listed(scope=view.scope)
    own = [_own_told(row, may_remove=row.organisation_id in owned) for row in rows]
    shown = LimitsShownForm(request.GET)
    said = shown.cleaned_data if shown.is_valid() else {}
    groups = [_group_told(group, own, said) for group in GROUPS]
    return page(
        request,
        "limits.html",
        view,
        None,
        groups=[each for each in groups if each.limits],
        idle=[each for each in own if each.ignored],
        shown=shown,
        form=form,
        may_set=bool(owned),
    )


def _group_told(group: LimitGroup, own: list[OwnTold], said: dict[str, object]) -> GroupTold:
    told = (_limit_told(each, own) for each in group.limits)
    words = str(said.get("words", "")).casefold().split()
    return GroupTold(
        group.key,
        group.title,
        tuple(
            each
            for each in told
            if all(word in _searched(each) for word in words) and (each.own or not said.get("own"))
        ),
    )


def _searched(limit: LimitTold) -> str:
    own = " ".join(f"{each.family} {each.source}" for each in limit.own)
    said = (limit.key, limit.key.replace("_", " "), limit.title, limit.basis, limit.source, own)
    return " ".join(said).casefold()


def _limit_told(limit: Threshold, own: list[OwnTold]) -> LimitTold:
    return LimitTold(
        key=limit.key,
        title=limit.title,
        value=with_unit(limit),
        basis=limit.basis.words,
        source=limit.source,
        range=range_words(limit),
        own=tuple(each for each in own if each.key == limit.key and not each.ignored),
    )


def _own_told(row: OwnThreshold, *, may_remove: bool) -> OwnTold:
    unit = SHIPPED.told(row.key).unit if row.key in SHIPPED else ""
    return OwnTold(
        pk=row.pk,
        key=row.key,
        value=f"{row.value:.6g} {unit}".strip(),
        family="all engine families" if row.engine_family is None else row.engine_family.name,
        organisation=row.organisation.name,
        source=row.source,
        ignored=why_ignored(row),
        may_remove=may_remove,
    )

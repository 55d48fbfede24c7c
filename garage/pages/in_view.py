"""Whose records a signed-in person is looking at: all of their organisations, or the one chosen."""

from dataclasses import dataclass

from django.http import HttpRequest

from garage.records.models import Organisation
from garage.records.permissions import Scope, scope_of_user

SESSION_KEY = "organisation_in_view"


@dataclass(frozen=True)
class InView:
    """`chosen` is None where all the person's organisations are in view together."""

    scope: Scope
    organisations: tuple[Organisation, ...]
    chosen: Organisation | None

    @property
    def shown(self) -> tuple[Organisation, ...]:
        return self.organisations if self.chosen is None else (self.chosen,)

    @property
    def names_them(self) -> bool:
        """Whether a row must say whose it is."""
        return len(self.shown) > 1


def in_view(request: HttpRequest) -> InView:
    """A choice kept in the session holds only as long as the membership does."""
    scope = scope_of_user(request.user)
    organisations = tuple(Organisation.objects.filter(pk__in=scope.organisation_ids))
    code = request.session.get(SESSION_KEY)
    chosen = next((each for each in organisations if each.code == code), None)
    if chosen is not None:
        scope = Scope(frozenset({chosen.pk}))
    return InView(scope, organisations, chosen)


def choose_organisation(request: HttpRequest, code: str) -> None:
    """Look at one organisation, with an empty code at all; Http404 for one not theirs."""
    if code:
        scope_of_user(request.user, code)
        request.session[SESSION_KEY] = code
    else:
        request.session.pop(SESSION_KEY, None)

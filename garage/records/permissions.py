"""Whose records may a person see?"""

from dataclasses import dataclass

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.http import Http404

from garage.records.models import Membership


@dataclass(frozen=True)
class Scope:
    """The organisations whose records a reader may see; without any, nothing is seen."""

    organisation_ids: frozenset[int]


def scope_of_user(
    user: AbstractBaseUser | AnonymousUser, organisation_code: str | None = None
) -> Scope:
    """What a signed-in person may see: the organisations they are a member of, or one of these.

    A superuser is no exception: whoever runs the installation reads records in the terminal.
    """
    memberships = Membership.objects.none()
    if user.is_authenticated and user.is_active:
        memberships = Membership.objects.filter(user_id=user.pk)
    if organisation_code is not None:
        memberships = memberships.filter(organisation__code=organisation_code)
    scope = Scope(frozenset(memberships.values_list("organisation_id", flat=True)))
    if organisation_code is not None and not scope.organisation_ids:
        # The same for another's organisation and a missing one: a code is no secret to leak.
        raise Http404("no such organisation")
    return scope

"""Whose records may a person see, and may they change them?"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.http import Http404

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import Membership, Organisation

WRITING_ROLES = frozenset({Role.OWNER, Role.TECHNICIAN})


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


def scope_of_organisations(codes: Iterable[str]) -> Scope:
    """The organisations named in the terminal, or RuleBroken naming those that are unknown."""
    wanted = set(codes)
    known = dict(Organisation.objects.filter(code__in=wanted).values_list("code", "pk"))
    unknown = sorted(wanted - known.keys())
    if unknown:
        raise RuleBroken(
            "an organisation must be one of the register's",
            got=", ".join(unknown),
            do="Correct the code, or add it first: manage.py add_organisation CODE --kind KIND.",
            column="organisation",
        )
    return Scope(frozenset(known.values()))


def scope_of_installation() -> Scope:
    """Every organisation: for whoever runs the installation, in its terminal."""
    return Scope(frozenset(Organisation.objects.values_list("pk", flat=True)))


def may_write(role: str) -> bool:
    """Owners and technicians may change records; viewers, and whoever has no role, may not."""
    return role in WRITING_ROLES

"""Whose records may a person see, and what may they do there?"""

from dataclasses import dataclass
from typing import TypeVar

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.db.models import Model, QuerySet
from django.http import Http404

from garage.records.choices import Role
from garage.records.models import Membership, Organisation


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


#: What each role may do beside reading; the owner also manages members, exports and erasures.
_RANK = {Role.VIEWER: 0, Role.TECHNICIAN: 1, Role.OWNER: 2}


def access_member(
    user: AbstractBaseUser | AnonymousUser, organisation_id: int, *, least: Role
) -> Membership:
    """The membership by which this person acts for the organisation.

    Http404 where they are no member (as for a missing organisation); PermissionDenied where their
    role is below `least`.
    """
    membership = _membership(user, organisation_id)
    if membership is None:
        raise Http404("no such organisation")
    if _RANK[Role(membership.role)] < _RANK[least]:
        raise PermissionDenied(
            f"this needs the role {least.label}; you are {Role(membership.role).label}. Ask an "
            "owner of the organisation."
        )
    return membership


def may_act(user: AbstractBaseUser | AnonymousUser, organisation_id: int, *, least: Role) -> bool:
    """Whether a page should offer this person what needs that role."""
    membership = _membership(user, organisation_id)
    return membership is not None and _RANK[Role(membership.role)] >= _RANK[least]


def organisations_owned(user: AbstractBaseUser | AnonymousUser) -> list[Organisation]:
    """The organisations this person is an owner of."""
    if not user.is_authenticated or not user.is_active:
        return []
    owned = Organisation.objects.filter(memberships__user_id=user.pk, memberships__role=Role.OWNER)
    return list(owned.order_by("code"))


def _membership(user: AbstractBaseUser | AnonymousUser, organisation_id: int) -> Membership | None:
    if not user.is_authenticated or not user.is_active:
        return None
    return (
        Membership.objects.filter(user_id=user.pk, organisation_id=organisation_id)
        .select_related("organisation")
        .first()
    )


Row = TypeVar("Row", bound=Model)


def access(rows: QuerySet[Row], *, scope: Scope, pk: int, owner: str = "organisation_id") -> Row:
    """The row with this key, or Http404: the same where it is another organisation's and where
    none is. `owner` is the way from the row to its organisation."""
    row = rows.filter(pk=pk, **{f"{owner}__in": scope.organisation_ids}).first()
    if row is None:
        raise Http404(f"no such {rows.model._meta.verbose_name}")
    return row

"""The cast of the permission tests, each with a part to play."""

from dataclasses import dataclass
from typing import Any

from garage.records.choices import OrganisationKind, Role
from garage.records.models import Organisation
from garage.records.permissions import Scope
from tests.records.factories import MembershipFactory, OrganisationFactory, UserFactory


@dataclass(frozen=True)
class Cast:
    """Workshop Alder, whose records are asked for; Birch, which pools with it; Cedar, which must
    see nothing of theirs; a fleet with its own workshop; an adviser."""

    alder: Organisation
    birch: Organisation
    cedar: Organisation
    fleet: Organisation
    adviser: Organisation
    owner: Any
    technician: Any
    viewer: Any
    at_birch: Any
    at_cedar: Any
    at_both: Any
    stranger: Any

    def scope(self, *organisations: Organisation) -> Scope:
        return Scope(frozenset(each.pk for each in organisations))


def cast_make() -> Cast:
    def member(*organisations: Organisation, role: Role = Role.OWNER) -> Any:
        user = UserFactory()
        for organisation in organisations:
            MembershipFactory(user=user, organisation=organisation, role=role)
        return user

    alder, birch, cedar = (OrganisationFactory(code=code) for code in ("alder", "birch", "cedar"))
    return Cast(
        alder=alder,
        birch=birch,
        cedar=cedar,
        fleet=OrganisationFactory(code="fleet", kind=OrganisationKind.FLEET, sees_all_repairs=True),
        adviser=OrganisationFactory(code="adviser", kind=OrganisationKind.ADVISER),
        owner=member(alder),
        technician=member(alder, role=Role.TECHNICIAN),
        viewer=member(alder, role=Role.VIEWER),
        at_birch=member(birch),
        at_cedar=member(cedar),
        at_both=member(alder, birch),
        stranger=UserFactory(),
    )

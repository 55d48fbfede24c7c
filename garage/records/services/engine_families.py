"""Review engine families: accept a new name, or join it to the family it is another spelling of."""

import logging
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F

from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken
from garage.records.models import EngineFamily, EngineFamilyAlias, Organisation, Vehicle
from garage.records.services.audit import Change, audit_record_everywhere

logger = logging.getLogger(__name__)


def family_accept(
    *, family: EngineFamily, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """A person has confirmed that this family is one of its own."""
    with transaction.atomic():
        if EngineFamily.objects.filter(pk=family.pk, reviewed=False).update(reviewed=True):
            change = Change(AuditVerb.CHANGE, family, {"reviewed": [False, True]})
            audit_record_everywhere(change=change, by=by, at=at, among=_owners(family))
    _log("accepted", family, by)


def family_join(
    *,
    family: EngineFamily,
    into: EngineFamily,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> EngineFamilyAlias:
    """Make a family's name an alias of another; its vehicles and aliases move there."""
    if family.pk == into.pk:
        raise RuleBroken(
            "a family is joined to another one",
            got=family.name,
            do="Name the family it is another spelling of.",
        )
    with transaction.atomic():
        owners = _owners(family)
        Vehicle.objects.filter(engine_family=family).update(engine_family=into)
        family.aliases.update(family=into)
        name = family.name
        family.delete()
        alias = EngineFamilyAlias.objects.create(family=into, name=name)
        Organisation.objects.filter(pk__in=owners).update(records_version=F("records_version") + 1)
        change = Change(AuditVerb.MERGE, into, {"joined": [name, into.name]})
        audit_record_everywhere(change=change, by=by, at=at, among=owners)
    _log("joined", into, by)
    return alias


def _owners(family: EngineFamily) -> list[int]:
    """The organisations that have vehicles of this family."""
    vehicles = Vehicle.objects.filter(engine_family=family)
    return list(vehicles.order_by().values_list("organisation_id", flat=True).distinct())


def _log(what: str, family: EngineFamily, by: AbstractBaseUser | None) -> None:
    logger.info("engine family %s family=%s by=%s", what, family.pk, None if by is None else by.pk)

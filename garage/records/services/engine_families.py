"""Review engine families: accept a new name, or join it to the family it is another spelling of."""

import logging
from collections.abc import Iterator
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import models, transaction

from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, refuse_all
from garage.records.models import (
    EngineFamily,
    EngineFamilyAlias,
    OwnCodeWording,
    OwnThreshold,
    UnitConfirmed,
    Vehicle,
)
from garage.records.services.audit import Change, audit_record_everywhere
from garage.records.services.settle import vehicles_changed

logger = logging.getLogger(__name__)

#: What organisations say of a family, and by what a second one of the same is known.
_SAID_OF_A_FAMILY: tuple[tuple[type[models.Model], tuple[str, ...]], ...] = (
    (OwnThreshold, ("organisation_id", "key")),
    (OwnCodeWording, ("organisation_id", "code")),
    (UnitConfirmed, ("instrument_id", "quantity")),
)


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
    """Make a family's name an alias of another; its vehicles and aliases move there, and all that
    organisations say of it. RuleBroken where one of them says something of both.
    """
    if family.pk == into.pk:
        raise RuleBroken(
            "a family is joined to another one",
            got=family.name,
            do="Name the family it is another spelling of.",
        )
    with transaction.atomic():
        refuse_all(_said_of_both(family, into))
        owners = _owners(family)
        moved = list(Vehicle.objects.filter(engine_family=family).values_list("pk", flat=True))
        Vehicle.objects.filter(engine_family=family).update(engine_family=into)
        for model, _ in _SAID_OF_A_FAMILY:
            model._default_manager.filter(engine_family=family).update(engine_family=into)
        family.aliases.update(family=into)
        name = family.name
        family.delete()
        alias = EngineFamilyAlias.objects.create(family=into, name=name)
        vehicles_changed(vehicle_ids=moved, at=at)
        change = Change(AuditVerb.MERGE, into, {"joined": [name, into.name]})
        audit_record_everywhere(change=change, by=by, at=at, among=owners)
    _log("joined", into, by)
    return alias


def _said_of_both(family: EngineFamily, into: EngineFamily) -> Iterator[RuleBroken]:
    """What an organisation says of the one family and of the other, on the same matter."""
    for model, same in _SAID_OF_A_FAMILY:
        rows = model._default_manager
        known = set(rows.filter(engine_family=into).values_list(*same))
        for said in rows.filter(engine_family=family).order_by("pk").values_list(*same):
            if said in known:
                yield RuleBroken(
                    "of what an organisation says of an engine family there is one of each",
                    got=f"{model._meta.verbose_name} {said[-1]} of {family.name} and {into.name}",
                    do="Remove one of the two, then join them.",
                )


def _owners(family: EngineFamily) -> list[int]:
    """The organisations that have vehicles of this family."""
    vehicles = Vehicle.objects.filter(engine_family=family)
    return list(vehicles.order_by().values_list("organisation_id", flat=True).distinct())


def _log(what: str, family: EngineFamily, by: AbstractBaseUser | None) -> None:
    logger.info("engine family %s family=%s by=%s", what, family.pk, None if by is None else by.pk)

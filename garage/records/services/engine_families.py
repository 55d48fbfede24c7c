"""Review engine families: accept a new name, or join it to the family it is another spelling of."""

import logging

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F

from garage.records.errors import RuleBroken
from garage.records.models import EngineFamily, EngineFamilyAlias, Organisation, Vehicle

logger = logging.getLogger(__name__)


def family_accept(*, family: EngineFamily, by: AbstractBaseUser | None = None) -> None:
    """A person has confirmed that this family is one of its own."""
    EngineFamily.objects.filter(pk=family.pk).update(reviewed=True)
    _log("accepted", family, by)


def family_join(
    *, family: EngineFamily, into: EngineFamily, by: AbstractBaseUser | None = None
) -> EngineFamilyAlias:
    """Make a family's name an alias of another; its vehicles and aliases move there."""
    if family.pk == into.pk:
        raise RuleBroken(
            "a family is joined to another one",
            got=family.name,
            do="Name the family it is another spelling of.",
        )
    with transaction.atomic():
        vehicles = Vehicle.objects.filter(engine_family=family)
        owners = list(vehicles.values_list("organisation_id", flat=True).distinct())
        vehicles.update(engine_family=into)
        family.aliases.update(family=into)
        name = family.name
        family.delete()
        alias = EngineFamilyAlias.objects.create(family=into, name=name)
        Organisation.objects.filter(pk__in=owners).update(records_version=F("records_version") + 1)
    _log("joined", into, by)
    return alias


def _log(what: str, family: EngineFamily, by: AbstractBaseUser | None) -> None:
    logger.info("engine family %s family=%s by=%s", what, family.pk, None if by is None else by.pk)

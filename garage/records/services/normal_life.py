"""Set an organisation's own value for the normal life of a part."""

import logging
from dataclasses import dataclass

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F

from garage.records.choices import Origin
from garage.records.errors import RuleBroken
from garage.records.models import Organisation, OwnNormalLife, PartKind

logger = logging.getLogger(__name__)

#: Parts that wear out have shapes of 2 to 4. Judgement, no source.
USUAL_SHAPE = 2.5


@dataclass(frozen=True)
class NormalLifeValue:
    """Median life of one origin, km, and who says so."""

    origin: str
    median_km: int
    source: str
    shape: float = USUAL_SHAPE


def own_normal_life_set(
    *,
    organisation: Organisation,
    part_kind: PartKind,
    value: NormalLifeValue,
    by: AbstractBaseUser | None = None,
) -> OwnNormalLife:
    """Record the value, in place of an earlier one of the same origin."""
    faults = [
        (value.origin in Origin.values, "origin", f"is one of {', '.join(Origin.values)}"),
        (value.median_km > 0, "median_km", "is above 0"),
        (value.shape > 0, "shape", "is above 0"),
        (bool(value.source.strip()), "source", "is named: who says so?"),
    ]
    for holds, column, rule in faults:
        if not holds:
            raise RuleBroken(
                f"{column} of a normal life {rule}",
                got=getattr(value, column),
                do="Correct it.",
                column=column,
            )
    with transaction.atomic():
        own, _ = OwnNormalLife.objects.update_or_create(
            organisation=organisation,
            part_kind=part_kind,
            origin=value.origin,
            defaults={
                "median_km": value.median_km,
                "shape": value.shape,
                "source": value.source.strip(),
            },
        )
        # What is early hangs on it, so kept reports are stale.
        Organisation.objects.filter(pk=organisation.pk).update(
            records_version=F("records_version") + 1
        )
    logger.info(
        "own normal life set organisation=%s part_kind=%s by=%s",
        organisation.pk,
        part_kind.pk,
        None if by is None else by.pk,
    )
    return own

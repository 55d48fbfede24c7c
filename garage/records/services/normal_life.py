"""Set an organisation's own value for the normal life of a part."""

import logging
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F

from garage.records.choices import AuditVerb, Origin
from garage.records.errors import RuleBroken
from garage.records.models import Organisation, OwnNormalLife, PartKind
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.services.part_kinds import MAX_NORMAL_LIFE_KM

logger = logging.getLogger(__name__)

#: Parts that wear out have shapes of 2 to 4. Judgement, no source.
USUAL_SHAPE = 2.5
#: Beyond these a life is next to certain at one distance, or means nothing. Judgement, no source.
SHAPES = (0.2, 20.0)
LONGEST_SOURCE = 200


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
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> OwnNormalLife:
    """Record the value, in place of an earlier one of the same origin."""
    faults = [
        (value.origin in Origin.values, "origin", f"is one of {', '.join(Origin.values)}"),
        (
            0 < value.median_km <= MAX_NORMAL_LIFE_KM,
            "median_km",
            f"is 1 to {MAX_NORMAL_LIFE_KM} km",
        ),
        (
            SHAPES[0] <= value.shape <= SHAPES[1],
            "shape",
            f"lies from {SHAPES[0]:g} to {SHAPES[1]:g}",
        ),
        (
            0 < len(value.source.strip()) <= LONGEST_SOURCE,
            "source",
            f"says in 1 to {LONGEST_SOURCE} characters who says so",
        ),
    ]
    for holds, column, rule in faults:
        if not holds:
            raise RuleBroken(
                f"{column} of a normal life {rule}",
                got=getattr(value, column),
                do="Correct it.",
                column=column,
            )
    said = {"median_km": value.median_km, "shape": value.shape, "source": value.source.strip()}
    with transaction.atomic():
        mine = OwnNormalLife.objects.select_for_update().filter(
            organisation=organisation, part_kind=part_kind, origin=value.origin
        )
        before = mine.values(*said).first()
        own, _ = OwnNormalLife.objects.update_or_create(
            organisation=organisation,
            part_kind=part_kind,
            origin=value.origin,
            defaults=said,
        )
        changes = changes_between(before or {}, said)
        if changes:
            verb = AuditVerb.ADD if before is None else AuditVerb.CHANGE
            audit_record(organisation=organisation, change=Change(verb, own, changes), by=by, at=at)
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

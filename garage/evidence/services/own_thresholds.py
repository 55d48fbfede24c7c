"""Write the limits of an organisation's own, for one engine family or for all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from math import isfinite

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.limits_shipped import (
    SHIPPED,
    OutOfOrder,
    out_of_order,
    range_words,
    with_unit,
)
from garage.evidence.own_limits import shipped_with
from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, refuse_all
from garage.records.models import EngineFamily, Organisation, OwnThreshold
from garage.records.services.audit import Change, audit_record, changes_between

LONGEST_SOURCE = 200


@dataclass(frozen=True)
class OwnLimit:
    """A limit by its key, its value in the limit's unit, and who says so.

    Without an engine family it holds for all of them.
    """

    key: str
    value: float
    source: str
    engine_family: EngineFamily | None = None


def own_threshold_set(
    *,
    organisation: Organisation,
    limit: OwnLimit,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> OwnThreshold:
    """Keep an own limit in place of an earlier one of the same family, or of all.

    Refused for a limit that is not known, a value out of its range or past its neighbour on the
    same scale, and without a source.
    """
    source = " ".join(limit.source.split())
    refuse_all(_broken(limit, source))
    with transaction.atomic():
        Organisation.objects.select_for_update().get(pk=organisation.pk)
        kept = organisation.own_thresholds.filter(
            key=limit.key, engine_family=limit.engine_family
        ).first()
        before = {} if kept is None else {"value": kept.value, "source": kept.source}
        verb = AuditVerb.ADD if kept is None else AuditVerb.CHANGE
        if kept is None:
            kept = OwnThreshold(
                organisation=organisation, key=limit.key, engine_family=limit.engine_family
            )
        kept.value, kept.source = limit.value, source
        _refuse_out_of_order([*_own(organisation, but=kept), kept], limit.key)
        kept.save()
        changes = changes_between(before, {"value": kept.value, "source": kept.source})
        if changes:
            changes = {"limit": [limit.key, limit.key], **changes}
            audit_record(
                organisation=organisation, change=Change(verb, kept, changes), by=by, at=at
            )
    return kept


def own_threshold_remove(
    *, own: OwnThreshold, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Remove an own limit, so that the next one holds: that for all families, or the one shipped.

    Refused where that lies past its neighbour on the same scale. One removed already stays so.
    """
    with transaction.atomic():
        organisation = Organisation.objects.select_for_update().get(pk=own.organisation_id)
        kept = organisation.own_thresholds.filter(pk=own.pk).first()
        if kept is None:
            return
        _refuse_out_of_order(_own(organisation, but=kept), kept.key)
        audit_record(
            organisation=organisation,
            change=Change(
                AuditVerb.REMOVE,
                kept,
                {
                    "limit": [kept.key, None],
                    "value": [kept.value, None],
                    "source": [kept.source, None],
                },
            ),
            by=by,
            at=at,
        )
        kept.delete()


def _broken(limit: OwnLimit, source: str) -> Iterator[RuleBroken]:
    if limit.key not in SHIPPED:
        yield RuleBroken(
            "an own limit stands in place of one that is shipped",
            got=limit.key,
            do="Choose it from the list.",
            column="key",
        )
    elif not isfinite(limit.value) or not _in_range(limit):
        yield RuleBroken(
            f"{SHIPPED.told(limit.key).title}: the value {range_words(SHIPPED.told(limit.key))}",
            got=f"{limit.value:g}",
            do="Look at the unit, and correct it.",
            column="value",
        )
    if not 0 < len(source) <= LONGEST_SOURCE:
        yield RuleBroken(
            f"the source says in 1 to {LONGEST_SOURCE} characters who says so",
            got=f"{len(source)} characters",
            do="Say what it rests on: a maker's data sheet, own measurements, a date.",
            column="source",
        )


def _in_range(limit: OwnLimit) -> bool:
    shipped = SHIPPED.told(limit.key)
    return shipped.least <= limit.value <= shipped.most


def _own(organisation: Organisation, *, but: OwnThreshold) -> list[OwnThreshold]:
    rows = organisation.own_thresholds.exclude(pk=but.pk)
    return list(rows.select_related("engine_family"))


def _refuse_out_of_order(rows: list[OwnThreshold], key: str) -> None:
    """Refuse where a limit would pass a neighbour on its scale, for all families or for one."""
    families = {row.engine_family_id: row.engine_family for row in rows} | {None: None}
    for family_id, family in families.items():
        limits = shipped_with(rows, engine_family_id=family_id)
        for wrong in out_of_order(limits):
            if key in (wrong.lower.key, wrong.higher.key):
                raise _past(wrong, family)


def _past(wrong: OutOfOrder, family: EngineFamily | None) -> RuleBroken:
    where = "all engine families" if family is None else family.name
    return RuleBroken(
        f"“{wrong.lower.title}” is not above “{wrong.higher.title}”",
        got=f"{wrong.lower.value:g} and {with_unit(wrong.higher)} for {where}",
        do="Set the other one first, or correct this one.",
        column="value",
    )

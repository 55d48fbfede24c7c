"""The limits that hold for an organisation and an engine family: those shipped, and its own."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite

from django.db.models import Q

from garage.evidence.limits_shipped import GROUPS, SHIPPED
from garage.evidence.thresholds import Override, Thresholds
from garage.records.models import OwnThreshold
from garage.records.permissions import Scope, access


@dataclass(frozen=True, slots=True)
class OwnIgnored:
    """An own limit that is kept and yet holds for nothing, and why."""

    key: str
    value: float
    source: str
    reason: str


@dataclass(frozen=True, slots=True)
class OwnLimits:
    """The limits of each part of the evidence, with own ones in place, and those ignored."""

    findings: Thresholds
    gauges: Thresholds
    resistance: Thresholds
    drives: Thresholds
    together: Thresholds
    resets: Thresholds
    ignored: tuple[OwnIgnored, ...] = ()


def limits_for(organisation_id: int, engine_family_id: int | None) -> OwnLimits:
    """Which limits hold for this organisation's vehicles of an engine family?

    Its value for all families stands in place of the one shipped, and the family's own in place of
    both. Without a family (None) those for all hold. What is kept and cannot hold is told.
    """
    rows = OwnThreshold.objects.filter(organisation_id=organisation_id).filter(
        Q(engine_family__isnull=True) | Q(engine_family_id=engine_family_id)
    )
    overrides, ignored = _parted(rows, engine_family_id)
    limits = {
        group.key: group.asked.overridden(each for each in overrides if each.key in group.asked)
        for group in GROUPS
    }
    return OwnLimits(**limits, ignored=tuple(ignored))


def shipped_with(rows: Iterable[OwnThreshold], *, engine_family_id: int | None) -> Thresholds:
    """All limits shipped, with these own ones in place as they hold for a family."""
    overrides, _ = _parted(rows, engine_family_id)
    return SHIPPED.overridden(overrides)


def _parted(
    rows: Iterable[OwnThreshold], engine_family_id: int | None
) -> tuple[list[Override], list[OwnIgnored]]:
    """What holds for a family, its own values last as they win, and what cannot hold."""
    for_all: list[Override] = []
    of_family: list[Override] = []
    ignored: list[OwnIgnored] = []
    for row in rows:
        if row.engine_family_id not in (None, engine_family_id):
            continue
        reason = why_ignored(row)
        if reason:
            ignored.append(OwnIgnored(row.key, row.value, row.source, reason))
            continue
        own = Override(row.key, row.value, row.source)
        (for_all if row.engine_family_id is None else of_family).append(own)
    return [*for_all, *of_family], ignored


def why_ignored(row: OwnThreshold) -> str:
    """Why an own limit holds for nothing; empty where it holds."""
    if row.key not in SHIPPED:
        return "no such limit is held against any more; remove it"
    shipped = SHIPPED.told(row.key)
    if not isfinite(row.value) or not shipped.least <= row.value <= shipped.most:
        return "it lies out of the range that is allowed now; set it anew, or remove it"
    return ""


def own_thresholds_listed(*, scope: Scope) -> list[OwnThreshold]:
    """All own limits in scope with whose they are: for all families first, then by family."""
    rows = OwnThreshold.objects.filter(organisation_id__in=scope.organisation_ids)
    return sorted(
        rows.select_related("organisation", "engine_family"),
        key=lambda row: (
            row.key,
            row.organisation.code,
            "" if row.engine_family is None else row.engine_family.name,
        ),
    )


def access_own_threshold(*, scope: Scope, own_id: int) -> OwnThreshold:
    """The own limit, for who may see it; Http404 else."""
    rows = OwnThreshold.objects.select_related("organisation", "engine_family")
    return access(rows, scope=scope, pk=own_id)

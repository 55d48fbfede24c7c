"""Add kinds of part to the catalogue, and follow the parts already recorded under their names."""

import logging
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from garage.records.choices import AuditVerb, System, WearsBy
from garage.records.errors import RuleBroken
from garage.records.models import Operation, PartKind, Vehicle
from garage.records.services.audit import Change, audit_record_everywhere
from garage.records.services.organisations import code_check
from garage.records.services.settle import vehicles_settle
from garage.records.texts import refuse_long

logger = logging.getLogger(__name__)

MAX_NORMAL_LIFE_KM = 10_000_000
MAX_NORMAL_LIFE_MONTHS = 600
MAX_POSITIONS = 40
_POSITION_CHARACTERS = 40
SOURCE_NOT_NAMED = "given when the part kind was added, no source named"


@dataclass(frozen=True)
class NewPartKind:
    """A kind of part to add; its normal life is the median life of the part fitted from new.

    `positions` are the usual ones, such as bank 1; `failed_means` says what counts as failed.
    """

    code: str
    system: str
    name: str = ""
    normal_life_km: int | None = None
    normal_life_source: str = ""
    fitted_from_new: bool = False
    wears_by: str = WearsBy.KM
    normal_life_months: int | None = None
    positions: tuple[str, ...] = ()
    failed_means: str = ""


def part_kind_add(
    *, new: NewPartKind, at: datetime, by: AbstractBaseUser | None = None
) -> PartKind:
    """Add a part kind; operations that named it before it was in the catalogue are joined to it.

    Without that, the same file imported again would add them a second time. RuleBroken says what
    is wrong.
    """
    _check(new)
    try:
        with transaction.atomic():
            part_kind = PartKind.objects.create(
                code=new.code,
                name=" ".join(new.name.split()) or new.code.replace("_", " "),
                system=new.system,
                normal_life_km=new.normal_life_km,
                normal_life_source=_source(new),
                fitted_from_new=new.fitted_from_new,
                wears_by=new.wears_by,
                normal_life_months=new.normal_life_months,
                positions=[_position(each) for each in new.positions],
                failed_means=" ".join(new.failed_means.split()),
            )
            vehicles_settle(vehicle_ids=_join_named(part_kind))
            change = Change(AuditVerb.ADD, part_kind, {"code": [None, part_kind.code]})
            audit_record_everywhere(change=change, by=by, at=at)
    except IntegrityError as error:
        raise RuleBroken(
            "one code belongs to one part kind",
            got=f"{new.code}, which is in the catalogue",
            do="Use that part kind, or another code.",
            column="code",
        ) from error
    logger.info("part kind added part_kind=%s by=%s", part_kind.pk, None if by is None else by.pk)
    return part_kind


def _join_named(part_kind: PartKind) -> set[int]:
    """Join the operations that named this part; the vehicles whose fitments may change."""
    named = Operation.objects.filter(part_kind=None, part_named__iexact=part_kind.code)
    touched = set(named.values_list("job__vehicle_id", flat=True))
    named.update(part_kind=part_kind, part_named="")
    if part_kind.fitted_from_new:
        touched.update(Vehicle.objects.filter(watched_from_new=True).values_list("pk", flat=True))
    return touched


def _position(named: str) -> str:
    """As the import spells positions: small letters, single blanks."""
    return " ".join(named.casefold().split())


def _source(new: NewPartKind) -> str:
    if new.normal_life_km is None and new.normal_life_months is None:
        return ""
    return " ".join(new.normal_life_source.split()) or SOURCE_NOT_NAMED


def _check(new: NewPartKind) -> None:
    code_check(new.code)
    if new.system not in System.values:
        raise RuleBroken(
            f"a part belongs to one of {', '.join(System.values)}",
            got=new.system,
            do="Name its system.",
            column="system",
        )
    life = new.normal_life_km
    if life is not None and not 0 < life <= MAX_NORMAL_LIFE_KM:
        raise RuleBroken(
            f"a normal life is 1 to {MAX_NORMAL_LIFE_KM} km",
            got=life,
            do="Correct it, or leave it out if it is not known.",
            column="normal_life_km",
        )
    months = new.normal_life_months
    if months is not None and not 0 < months <= MAX_NORMAL_LIFE_MONTHS:
        raise RuleBroken(
            f"a normal life is 1 to {MAX_NORMAL_LIFE_MONTHS} months",
            got=months,
            do="Correct it, or leave it out if it is not known.",
            column="normal_life_months",
        )
    if new.wears_by not in WearsBy.values:
        raise RuleBroken(
            f"a part wears by one of {', '.join(WearsBy.values)}",
            got=new.wears_by,
            do="Say what wears it.",
            column="wears_by",
        )
    if months is not None and new.wears_by == WearsBy.KM:
        raise RuleBroken(
            "a normal life in months belongs to a part that wears by time",
            got=f"{months} months, wears by {new.wears_by}",
            do="Say that it wears by months or by both, or leave the months out.",
            column="normal_life_months",
        )
    if len(new.positions) > MAX_POSITIONS or any(
        not 0 < len(_position(each)) <= _POSITION_CHARACTERS for each in new.positions
    ):
        raise RuleBroken(
            f"at most {MAX_POSITIONS} positions of 1 to {_POSITION_CHARACTERS} characters",
            got=", ".join(new.positions),
            do="Name the usual ones, or none where there is only one.",
            column="positions",
        )
    if new.normal_life_source.strip() and life is None and months is None:
        raise RuleBroken(
            "a source belongs to a normal life",
            got="a source without a normal life",
            do="Give the normal life, or leave the source out.",
            column="normal_life_source",
        )
    for column, text, limit in (
        ("name", new.name, 80),
        ("normal_life_source", new.normal_life_source, 200),
        ("failed_means", new.failed_means, 300),
    ):
        refuse_long(column, text, limit)

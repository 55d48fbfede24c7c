"""Write the warranty terms of a part that was fitted."""

from dataclasses import asdict, dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, OperationKind, WarrantyGiver
from garage.records.errors import RuleBroken
from garage.records.models import Operation, Warranty
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.texts import refuse_long

#: Operations after which a part goes into service, and so can be warranted.
FITTING_KINDS = (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE)
_MOST = {"months": 600, "distance_km": 10_000_000, "claim_within_days": 3_650}


@dataclass(frozen=True)
class WarrantyTerms:
    """Terms as agreed; what is None does not count, and one of months and km must."""

    given_by: str
    months: int | None = None
    distance_km: int | None = None
    giver_name: str = ""
    conditions: str = ""
    claim_within_days: int | None = None


def warranty_set(
    *,
    operation: Operation,
    terms: WarrantyTerms,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Warranty:
    """Set or correct the terms of the part that this operation fitted. RuleBroken says what is
    wrong."""
    _check(operation, terms)
    stated = asdict(terms)
    with transaction.atomic():
        before = Warranty.objects.select_for_update().filter(operation=operation).first()
        was = {} if before is None else {name: getattr(before, name) for name in stated}
        warranty, created = Warranty.objects.update_or_create(operation=operation, defaults=stated)
        changes = changes_between(was, stated)
        if changes:
            audit_record(
                organisation=operation.job.organisation,
                change=Change(AuditVerb.ADD if created else AuditVerb.CHANGE, warranty, changes),
                by=by,
                at=at,
            )
    return warranty


def _check(operation: Operation, terms: WarrantyTerms) -> None:
    if operation.kind not in FITTING_KINDS or operation.part_kind_id is None:
        part = "outside the catalogue" if operation.part_kind_id is None else "in the catalogue"
        raise RuleBroken(
            "a warranty belongs to an operation that fitted a part of the catalogue",
            got=f"{operation.get_kind_display()}, a part {part}",
            do="Set it on the line that replaced or cleaned the part.",
            column="operation",
        )
    if terms.given_by not in WarrantyGiver.values:
        raise RuleBroken(
            f"a warranty is given by one of {', '.join(WarrantyGiver.values)}",
            got=terms.given_by,
            do="Say who gives it.",
            column="given_by",
        )
    if terms.months is None and terms.distance_km is None:
        raise RuleBroken(
            "a warranty ends after some months or some km",
            got="neither",
            do="Give one of them, or both.",
            column="months",
        )
    for name, most in _MOST.items():
        value = getattr(terms, name)
        if value is not None and not 0 < value <= most:
            raise RuleBroken(
                f"{name} is 1 to {most}", got=value, do="Correct it or leave it out.", column=name
            )
    for name, most in (("giver_name", 80), ("conditions", 500)):
        refuse_long(name, getattr(terms, name), most)

"""Add organisations, the owners of records, and set their own terms."""

import logging
import re
from dataclasses import asdict, dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from garage.records.choices import AuditVerb, OrganisationKind
from garage.records.errors import RuleBroken
from garage.records.models import Organisation
from garage.records.services.audit import Change, audit_record, changes_between

logger = logging.getLogger(__name__)

MOST_OF_TERMS = {"recheck_days": 365, "recheck_km": 50_000, "keep_personal_months": 600}
CODE_FORM = re.compile(r"[a-z0-9]([a-z0-9_-]{0,38}[a-z0-9])?", re.ASCII)


def organisation_add(
    *,
    code: str,
    kind: str,
    name: str = "",
    sees_all_repairs: bool = False,
    by: AbstractBaseUser | None = None,
) -> Organisation:
    """Add an organisation; without a name its code is its name. RuleBroken says what is wrong."""
    code_check(code)
    if kind not in OrganisationKind.values:
        raise RuleBroken(
            f"an organisation is one of {', '.join(OrganisationKind.values)}",
            got=kind,
            do="Name its kind.",
            column="kind",
        )
    name = " ".join(name.split()) or code
    if len(name) > 120:
        raise RuleBroken(
            "a name has at most 120 characters", got=len(name), do="Shorten it.", column="name"
        )
    try:
        with transaction.atomic():
            organisation = Organisation.objects.create(
                code=code, kind=kind, name=name, sees_all_repairs=sees_all_repairs
            )
    except IntegrityError as error:
        raise RuleBroken(
            "one code belongs to one organisation",
            got=f"{code}, which is recorded",
            do="Use that organisation, or another code.",
            column="code",
        ) from error
    logger.info(
        "organisation added organisation=%s by=%s",
        organisation.pk,
        None if by is None else by.pk,
    )
    return organisation


@dataclass(frozen=True)
class OwnTerms:
    """An organisation's own terms; None leaves one as it is, and 0 months means on request only."""

    recheck_days: int | None = None
    recheck_km: int | None = None
    keep_personal_months: int | None = None


def organisation_terms_set(
    *,
    organisation: Organisation,
    terms: OwnTerms,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Organisation:
    """Set when rechecks are due and how long personal data is kept. RuleBroken says what is
    wrong."""
    given = {name: value for name, value in asdict(terms).items() if value is not None}
    for name, value in given.items():
        least = 0 if name == "keep_personal_months" else 1
        if not least <= value <= MOST_OF_TERMS[name]:
            raise RuleBroken(
                f"{name} is {least} to {MOST_OF_TERMS[name]}",
                got=value,
                do="Correct it.",
                column=name,
            )
    if given.get("keep_personal_months") == 0:
        given["keep_personal_months"] = None
    with transaction.atomic():
        row = Organisation.objects.select_for_update().get(pk=organisation.pk)
        changes = changes_between({name: getattr(row, name) for name in given}, given)
        for name, value in given.items():
            setattr(row, name, value)
        if changes:
            row.save(update_fields=list(given))
            audit_record(
                organisation=row,
                change=Change(AuditVerb.CHANGE, row, changes),
                by=by,
                at=at,
            )
    return row


def code_check(code: str) -> None:
    """RuleBroken unless this can be the code of an organisation or a part kind."""
    if CODE_FORM.fullmatch(code) is None:
        raise RuleBroken(
            "a code has 1 to 40 small letters, digits, hyphens and underscores, and begins and "
            "ends with a letter or digit",
            got=code[:80],
            do="Write for example birch-lane.",
            column="code",
        )

"""Add organisations: the owners of records."""

import logging
import re

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from garage.records.choices import OrganisationKind
from garage.records.errors import RuleBroken
from garage.records.models import Organisation

logger = logging.getLogger(__name__)

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

"""Give a person a part in an organisation."""

import logging
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from garage.records.choices import AuditVerb, Role
from garage.records.errors import RuleBroken
from garage.records.models import Membership, Organisation
from garage.records.services.audit import Change, audit_record

logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class NewMember:
    """Who becomes a member, and in which role; a person not known yet needs a password."""

    username: str
    role: str
    password: str | None = None


def member_add(
    *,
    organisation: Organisation,
    new: NewMember,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Membership:
    """Make this person a member. Somebody who is one already changes role.

    RuleBroken says what is wrong.
    """
    if new.role not in Role.values:
        raise RuleBroken(
            f"a role is one of {', '.join(Role.values)}",
            got=new.role,
            do="Name it.",
            column="role",
        )
    users = get_user_model().objects
    with transaction.atomic():
        user = users.filter(username=new.username).first()
        if user is None:
            user = users.create_user(username=new.username, password=_checked(new.password))
        before = Membership.objects.filter(user=user, organisation=organisation).first()
        membership, is_new = Membership.objects.update_or_create(
            user=user, organisation=organisation, defaults={"role": new.role}
        )
        if before is None or before.role != new.role:
            audit_record(
                organisation=organisation,
                change=Change(
                    AuditVerb.ADD if is_new else AuditVerb.CHANGE,
                    membership,
                    {"user": [user.pk, user.pk], "role": [before and before.role, new.role]},
                ),
                by=by,
                at=at,
            )
    logger.info(
        "member added organisation=%s user=%s role=%s by=%s",
        organisation.pk,
        user.pk,
        new.role,
        None if by is None else by.pk,
    )
    return membership


def _checked(password: str | None) -> str:
    if not password:
        raise RuleBroken(
            "a new person needs a password", got="none", do="Give one.", column="password"
        )
    try:
        validate_password(password)
    except ValidationError as error:
        raise RuleBroken(
            " ".join(error.messages), got="a weaker one", do="Choose another.", column="password"
        ) from error
    return password

"""Give a person a part in an organisation."""

import logging

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import Membership, Organisation

logger = logging.getLogger(__name__)


def member_add(
    *,
    organisation: Organisation,
    username: str,
    role: str,
    password: str | None = None,
    by: AbstractBaseUser | None = None,
) -> Membership:
    """Make this person a member, in this role; a new person needs a password.

    Somebody who is a member already changes role. RuleBroken says what is wrong.
    """
    if role not in Role.values:
        raise RuleBroken(
            f"a role is one of {', '.join(Role.values)}", got=role, do="Name it.", column="role"
        )
    users = get_user_model().objects
    with transaction.atomic():
        user = users.filter(username=username).first()
        if user is None:
            user = users.create_user(username=username, password=_checked(password))
        membership, _ = Membership.objects.update_or_create(
            user=user, organisation=organisation, defaults={"role": role}
        )
    logger.info(
        "member added organisation=%s user=%s role=%s by=%s",
        organisation.pk,
        user.pk,
        role,
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

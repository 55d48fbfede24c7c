"""Give a person a token for a name and a password, and withdraw it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import cast

from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.db import transaction
from django.http import HttpRequest
from knox.models import AuthToken
from rest_framework.request import Request

from api.problems import SIGN_IN_LOCKED, SIGN_IN_REFUSED, Refused

#: A working day: a token left on a workshop's machine is of no use the next morning. Judgement.
TOKEN_LIFETIME = timedelta(hours=10)
SIGN_IN_CHALLENGE = {"WWW-Authenticate": 'Basic realm="token", charset="UTF-8"'}


@dataclass(frozen=True)
class IssuedToken:
    """The token itself is said once; only its digest is kept."""

    token: str
    expires_at: datetime


def token_issue(*, request: Request, user_name: str, password: str) -> IssuedToken:
    """A new token, or a refusal that does not say whether the name exists."""
    # The lock-out marks the request that it is given. Given Django's own, its middleware would
    # put a plain text in the place of the problem.
    own = cast(HttpRequest, request)
    # The log of sign-ins would begin a session, and a program has no use for its cookie.
    vars(request._request).pop("session", None)
    user = authenticate(request=own, username=user_name, password=password)
    if getattr(own, "axes_locked_out", False):
        raise Refused(SIGN_IN_LOCKED, headers={"Retry-After": str(_lock_seconds())})
    if user is None:
        raise Refused(SIGN_IN_REFUSED, headers=SIGN_IN_CHALLENGE)
    with transaction.atomic():
        row, token = AuthToken.objects.create(user=user, expiry=TOKEN_LIFETIME)
        user_logged_in.send(sender=type(user), request=own, user=user)
    return IssuedToken(token=token, expires_at=row.expiry)


def token_withdraw(*, request: Request) -> None:
    """The token that the request came with stops being accepted."""
    with transaction.atomic():
        cast(AuthToken, request.auth).delete()
        user_logged_out.send(
            sender=type(request.user), request=cast(HttpRequest, request), user=request.user
        )


def _lock_seconds() -> int:
    return round(settings.AXES_COOLOFF_TIME * 3600)

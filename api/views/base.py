"""What all views of records share."""

from datetime import datetime

from django.utils import timezone
from rest_framework.request import Request
from rest_framework.views import APIView

from api.problems import (
    BODY_TOO_LARGE,
    INVALID_REQUEST,
    NOT_ACCEPTABLE,
    NOT_ALLOWED,
    NOT_FOUND,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    UNREADABLE_REQUEST,
    UNSUPPORTED_MEDIA_TYPE,
)
from garage.records.permissions import Scope, scope_of_user
from garage.records.selectors import access_family

#: The problems that any reading of records may answer with.
READ_PROBLEMS = (INVALID_REQUEST, SIGN_IN_REQUIRED, TOKEN_REFUSED, NOT_FOUND, NOT_ACCEPTABLE)
#: Those of a question that keeps nothing.
ASK_PROBLEMS = (
    INVALID_REQUEST,
    UNREADABLE_REQUEST,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    NOT_ACCEPTABLE,
    BODY_TOO_LARGE,
    UNSUPPORTED_MEDIA_TYPE,
)
#: Those of what is written to a record.
WRITE_PROBLEMS = (
    *READ_PROBLEMS,
    UNREADABLE_REQUEST,
    BODY_TOO_LARGE,
    UNSUPPORTED_MEDIA_TYPE,
    NOT_ALLOWED,
)


class RecordsView(APIView):
    """Reads within the organisations of whoever is signed in."""

    @staticmethod
    def scope(request: Request, organisation: str | None) -> Scope:
        return scope_of_user(request.user, organisation)

    @staticmethod
    def family_name(scope: Scope, family_id: int | None) -> str | None:
        return None if family_id is None else access_family(scope=scope, family_id=family_id).name

    @staticmethod
    def now() -> datetime:
        return timezone.now()

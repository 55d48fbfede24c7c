"""The one shape of every error: problem details as RFC 9457 has them, with codes that stay.

A caller branches on `code`; `detail` and `errors` are for people and may be reworded.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from rest_framework.exceptions import APIException
from rest_framework.response import Response

CONTENT_TYPE = "application/problem+json"
TYPE_BASE = "/api/v1/problems/"


@dataclass(frozen=True)
class ProblemKind:
    """One kind of refusal; `detail` is what is said where the case adds nothing."""

    code: str
    status: int
    title: str
    detail: str


@dataclass(frozen=True)
class FaultKind:
    """One kind of fault of a parameter."""

    code: str
    meaning: str


@dataclass(frozen=True)
class Fault:
    """One fault of a request: where it is, which rule it breaks, what came, what to do."""

    code: str
    place: str
    """`query` or `body`."""
    name: str
    detail: str


INVALID_REQUEST = ProblemKind(
    "invalid_request",
    400,
    "The request breaks a rule",
    "Every fault is listed in errors; mend them all and send the request again.",
)
UNREADABLE_REQUEST = ProblemKind(
    "unreadable_request",
    400,
    "The request cannot be read",
    "The body must be JSON in UTF-8, a form or query of at most 1000 names and 100 files, the host "
    "one that this service answers to.",
)
SIGN_IN_REQUIRED = ProblemKind(
    "sign_in_required",
    401,
    "Nobody is signed in",
    "Send the header 'Authorization: Bearer TOKEN'; POST /api/v1/token/ gives a token.",
)
TOKEN_REFUSED = ProblemKind(
    "token_refused",
    401,
    "The token is not accepted",
    "It is wrong, withdrawn or has expired; POST /api/v1/token/ gives a new one.",
)
SIGN_IN_REFUSED = ProblemKind(
    "sign_in_refused",
    401,
    "Name or password is wrong",
    "Nobody with this name and password may sign in; correct them and try again.",
)
NOT_ALLOWED = ProblemKind(
    "not_allowed",
    403,
    "This is not allowed",
    "Whoever is signed in may not do this; ask an owner of the organisation.",
)
NOT_FOUND = ProblemKind(
    "not_found",
    404,
    "There is no such thing",
    "Nothing stands at this address for whoever is signed in. Every address ends with a slash.",
)
NO_RECORDS = ProblemKind(
    "no_records",
    404,
    "There are no records yet",
    "Statistics need at least one job or reading; import some with manage.py import_history.",
)
METHOD_NOT_ALLOWED = ProblemKind(
    "method_not_allowed",
    405,
    "This method is not offered here",
    "The header Allow names the methods that are.",
)
NOT_ACCEPTABLE = ProblemKind(
    "not_acceptable",
    406,
    "Only JSON is offered",
    "Send 'Accept: application/json', or no such header.",
)
BODY_TOO_LARGE = ProblemKind(
    "body_too_large",
    413,
    "The body is too large",
    "A body has at most 2.5 MB beside its files; send it in parts.",
)
UNSUPPORTED_MEDIA_TYPE = ProblemKind(
    "unsupported_media_type",
    415,
    "The body is of a form that is not read here",
    "Send JSON with 'Content-Type: application/json', files as multipart/form-data.",
)
SIGN_IN_LOCKED = ProblemKind(
    "sign_in_locked",
    429,
    "Signing in is locked for a while",
    "Too many wrong passwords for this name from this address; wait a quarter of an hour.",
)
TOO_MANY_REQUESTS = ProblemKind(
    "too_many_requests",
    429,
    "Too many requests",
    "The header Retry-After says after how many seconds to try again.",
)
INTERNAL_ERROR = ProblemKind(
    "internal_error",
    500,
    "The service failed",
    "The fault is ours and has been logged; try again, and tell whoever runs the service.",
)

PROBLEMS: tuple[ProblemKind, ...] = (
    INVALID_REQUEST,
    UNREADABLE_REQUEST,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    SIGN_IN_REFUSED,
    NOT_ALLOWED,
    NOT_FOUND,
    NO_RECORDS,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    BODY_TOO_LARGE,
    UNSUPPORTED_MEDIA_TYPE,
    SIGN_IN_LOCKED,
    TOO_MANY_REQUESTS,
    INTERNAL_ERROR,
)

FAULTS: tuple[FaultKind, ...] = (
    FaultKind("unknown_name", "No parameter or field has this name."),
    FaultKind("given_twice", "A parameter may be given once."),
    FaultKind("required", "This must be given."),
    FaultKind("blank", "This must not be empty."),
    FaultKind("null", "This must not be null."),
    FaultKind("invalid", "This is not of the right form."),
    FaultKind("invalid_choice", "This must be one of a list, which the detail names."),
    FaultKind("not_in_catalogue", "This must be a code of the catalogue; the detail names all."),
    FaultKind("min_value", "This number is too low."),
    FaultKind("max_value", "This number is too high."),
    FaultKind("max_length", "This text or list is too long."),
    FaultKind("null_characters_not_allowed", "This text holds a character of no meaning."),
    FaultKind("surrogate_characters_not_allowed", "This text is not valid Unicode."),
    FaultKind("rule_broken", "A rule of the records is broken; the detail says which."),
    FaultKind("empty", "This file or list is empty."),
    FaultKind("no_name", "This file has no name."),
    FaultKind("not_a_list", "This must be a list."),
    FaultKind("max_string_length", "This number has too many digits."),
)


class Refused(APIException):
    """Raised anywhere in a request to answer with a problem."""

    def __init__(
        self,
        kind: ProblemKind,
        *,
        errors: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(kind.detail, kind.code)
        self.kind = kind
        self.errors = tuple(errors)
        self.headers = dict(headers or {})
        self.status_code = kind.status


def problem_body(kind: ProblemKind, errors: Sequence[Fault] = ()) -> dict[str, Any]:
    """The members of the problem; `errors` is there only where there are any."""
    body: dict[str, Any] = {
        "type": f"{TYPE_BASE}{kind.code}/",
        "title": kind.title,
        "status": kind.status,
        "detail": kind.detail,
        "code": kind.code,
    }
    if errors:
        body["errors"] = [asdict(each) for each in errors]
    return body


def problem_response(
    kind: ProblemKind,
    *,
    errors: Sequence[Fault] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    return Response(
        problem_body(kind, errors),
        status=kind.status,
        headers=dict(headers or {}),
        content_type=CONTENT_TYPE,
    )

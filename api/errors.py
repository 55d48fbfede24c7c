"""Turns whatever goes wrong in a request into a problem: the API's one exception handler."""

import json
import logging
from collections.abc import Iterator
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.http import Http404, HttpRequest, HttpResponse
from django.views import defaults
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.settings import api_settings
from rest_framework.views import set_rollback

from api.problems import (
    BODY_TOO_LARGE,
    CONTENT_TYPE,
    INTERNAL_ERROR,
    INVALID_REQUEST,
    METHOD_NOT_ALLOWED,
    NOT_ACCEPTABLE,
    NOT_ALLOWED,
    NOT_FOUND,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    TOO_MANY_REQUESTS,
    UNREADABLE_REQUEST,
    UNSUPPORTED_MEDIA_TYPE,
    Fault,
    ProblemKind,
    Refused,
    problem_body,
    problem_response,
)

logger = logging.getLogger(__name__)

# In order: the first that fits.
_KINDS: tuple[tuple[type[Exception], ProblemKind], ...] = (
    (Http404, NOT_FOUND),
    (exceptions.NotFound, NOT_FOUND),
    (RequestDataTooBig, BODY_TOO_LARGE),
    (SuspiciousOperation, UNREADABLE_REQUEST),
    (PermissionDenied, NOT_ALLOWED),
    (exceptions.PermissionDenied, NOT_ALLOWED),
    (exceptions.NotAuthenticated, SIGN_IN_REQUIRED),
    (exceptions.AuthenticationFailed, TOKEN_REFUSED),
    (exceptions.MethodNotAllowed, METHOD_NOT_ALLOWED),
    (exceptions.NotAcceptable, NOT_ACCEPTABLE),
    (exceptions.UnsupportedMediaType, UNSUPPORTED_MEDIA_TYPE),
    (exceptions.Throttled, TOO_MANY_REQUESTS),
    (exceptions.ParseError, UNREADABLE_REQUEST),
    (exceptions.ValidationError, INVALID_REQUEST),
)


def problem_for(error: Exception, context: dict[str, Any]) -> Response:
    """The answer to an error; what nobody foresaw is logged and answered with 500."""
    set_rollback()
    if isinstance(error, Refused):
        return problem_response(error.kind, errors=error.errors, headers=error.headers)
    kind = next((kind for raised, kind in _KINDS if isinstance(error, raised)), INTERNAL_ERROR)
    if kind is INTERNAL_ERROR:
        logger.error("a request to the API failed", exc_info=error)
    errors: tuple[Fault, ...] = ()
    if isinstance(error, exceptions.ValidationError):
        errors = tuple(faults_of(error.detail))
    return problem_response(kind, errors=errors, headers=_headers(error))


def _headers(error: Exception) -> dict[str, str]:
    headers = {}
    if auth_header := getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = auth_header
    if (wait := getattr(error, "wait", None)) is not None:
        headers["Retry-After"] = str(int(wait) + 1)
    return headers


def faults_of(detail: Any, *, place: str = "body", name: str = "") -> Iterator[Fault]:
    """Every fault of a serializer's errors, however deep."""
    if isinstance(detail, dict):
        for key, each in detail.items():
            if key == api_settings.NON_FIELD_ERRORS_KEY:
                # A fault of the whole is named after the whole.
                yield from faults_of(each, place=place, name=name)
                continue
            yield from faults_of(each, place=place, name=f"{name}.{key}" if name else str(key))
    elif isinstance(detail, (list, tuple)):
        for each in detail:
            yield from faults_of(each, place=place, name=name)
    else:
        yield Fault(getattr(detail, "code", None) or "invalid", place, name, str(detail))


def server_error(request: HttpRequest) -> HttpResponse:
    """Django's last resort; pages keep Django's own."""
    return _last_resort(request, INTERNAL_ERROR) or defaults.server_error(request)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return _last_resort(request, UNREADABLE_REQUEST) or defaults.bad_request(request, exception)


def _last_resort(request: HttpRequest, kind: ProblemKind) -> HttpResponse | None:
    if not request.path.startswith("/api/"):
        return None
    return HttpResponse(
        json.dumps(problem_body(kind)), status=kind.status, content_type=CONTENT_TYPE
    )

"""Logs carry ids: no path of a request and no message of an exception."""

import logging
import sys

import pytest
from django.test import Client, RequestFactory
from django.urls import ResolverMatch

from garage.logs import IdsOnlyFormatter, RouteInsteadOfPath

SECRET = "AB12CDE"


def record_of_request(match: ResolverMatch | None) -> logging.LogRecord:
    request = RequestFactory().get(f"/vehicles/{SECRET}/")
    request.resolver_match = match
    record = logging.makeLogRecord(
        {"msg": "%s: %s", "args": ("Not Found", request.path), "name": "django.request"}
    )
    record.request, record.status_code = request, 404
    return record


def test_request_record_says_the_route_instead_of_the_path() -> None:
    match = ResolverMatch(lambda: None, (), {"ref": SECRET}, route="vehicles/<str:ref>/")
    record = record_of_request(match)
    assert RouteInsteadOfPath().filter(record)
    assert record.getMessage() == "GET /vehicles/<str:ref>/: 404"


def test_request_record_without_route_says_so() -> None:
    record = record_of_request(None)
    RouteInsteadOfPath().filter(record)
    assert record.getMessage() == "GET /(no route): 404"


def test_other_record_is_left_as_it_is() -> None:
    record = logging.makeLogRecord({"msg": "work %s failed", "args": (7,)})
    assert RouteInsteadOfPath().filter(record)
    assert record.getMessage() == "work 7 failed"


def test_exception_is_logged_without_its_message() -> None:
    try:
        raise ValueError(f"no vehicle {SECRET}")
    except ValueError:
        record = logging.makeLogRecord({"msg": "failed", "exc_info": sys.exc_info()})
    text = IdsOnlyFormatter().format(record)
    assert SECRET not in text
    assert "ValueError" in text
    assert "test_exception_is_logged_without_its_message" in text


@pytest.mark.django_db
def test_page_not_found_logs_no_path(client: Client, caplog: pytest.LogCaptureFixture) -> None:
    """The handlers as configured, not only the parts: nothing else may print the path."""
    stderr_handlers = [
        handler
        for name in ("", "django", "django.request", "django.server")
        for handler in logging.getLogger(name).handlers
        if handler is not caplog.handler and type(handler) is logging.StreamHandler
    ]
    assert len(stderr_handlers) == 1
    client.get(f"/no-such-page/{SECRET}/")
    (record,) = (record for record in caplog.records if record.name == "django.request")
    assert stderr_handlers[0].filter(record)
    assert SECRET not in stderr_handlers[0].format(record)

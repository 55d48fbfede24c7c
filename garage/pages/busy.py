"""Say that the database is being written, where a page cannot write to it."""

from collections.abc import Callable

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

#: About what a large import takes. Judgement.
RETRY_AFTER_S = 60


class BusyDatabase:
    """On SQLite one writes at a time: an import may hold others up for longer than they wait."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self._get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, OperationalError) or "locked" not in str(exception):
            return None
        answer = render(request, "503.html", status=503)
        answer["Retry-After"] = str(RETRY_AFTER_S)
        return answer

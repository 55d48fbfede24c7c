"""What is answered when too many wrong passwords have closed a name."""

from typing import Any

from axes.helpers import get_cool_off, get_failure_limit
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

TOO_MANY_REQUESTS = 429


def locked_out(
    request: HttpRequest, original_response: HttpResponse | None, credentials: dict[str, Any] | None
) -> HttpResponse:
    """A page that says why and until when; the settings name it to the lock."""
    cool_off = get_cool_off(request)
    return render(
        request,
        "pages/locked_out.html",
        {
            "failure_limit": get_failure_limit(request, credentials),
            "cooloff_minutes": None if cool_off is None else round(cool_off.total_seconds() / 60),
        },
        status=TOO_MANY_REQUESTS,
    )

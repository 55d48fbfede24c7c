"""Log records that carry ids, never a registration mark, VIN, name or free text.

Two things would leak otherwise: the request path (a search or a reference may hold a registration
mark) and an exception's message (a database error quotes the row).
"""

import logging
import traceback
from types import TracebackType
from typing import TypeAlias

ExceptionInfo: TypeAlias = (
    tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]
)


class RouteInsteadOfPath(logging.Filter):
    """Replace the path in Django's request records by the matched route."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if request is not None and hasattr(request, "path"):
            match = getattr(request, "resolver_match", None)
            route = match.route if match is not None else "(no route)"
            status = getattr(record, "status_code", "-")
            record.msg, record.args = "%s /%s: %s", (request.method, route, status)
        return True


class IdsOnlyFormatter(logging.Formatter):
    """Exceptions as their class and frames, without the message."""

    def formatException(self, ei: ExceptionInfo) -> str:  # noqa: N802 - logging's own name
        error = ei[1]
        if error is None:
            return ""
        lines = ["Traceback (messages left out, they may hold personal data):\n"]
        lines += traceback.format_tb(error.__traceback__)
        lines.append(type(error).__qualname__)
        return "".join(lines)

"""Which function does which kind of work; apps register theirs in their `tasks` module."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from garage.background.errors import UnknownWorkKind

WorkHandler = Callable[[dict[str, Any], datetime], None]
"""Called with the work's arguments and the clock. It may be called twice for the same work (a
worker can be killed after its last write and before the row is marked done), so a second call must
change nothing more. Compute first, then write in one short `atomic()`: on SQLite a writer makes
every other one wait."""

_handlers: dict[str, WorkHandler] = {}
_given_up: dict[str, WorkHandler] = {}


def work_handler(kind: str) -> Callable[[WorkHandler], WorkHandler]:
    """Register the decorated function as the one that does work of this kind."""

    def register(handler: WorkHandler) -> WorkHandler:
        known = _handlers.get(kind)
        if known is not None and known is not handler:
            raise ValueError(f"a kind of work has one handler; {kind!r} is registered already")
        _handlers[kind] = handler
        return handler

    return register


def work_given_up(kind: str) -> Callable[[WorkHandler], WorkHandler]:
    """Register the decorated function to be told of work of this kind that is given up, in the
    transaction that gives it up."""

    def register(told: WorkHandler) -> WorkHandler:
        _given_up[kind] = told
        return told

    return register


def given_up_of(kind: str) -> WorkHandler | None:
    """Who wants to be told; None: nobody."""
    return _given_up.get(kind)


def handler_of(kind: str) -> WorkHandler:
    """The registered handler, or `UnknownWorkKind` that lists the known kinds."""
    try:
        return _handlers[kind]
    except KeyError:
        raise UnknownWorkKind(kind, sorted(_handlers)) from None

"""Queue work: the row in the caller's transaction, the message once that has committed."""

import hashlib
import json
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from garage.background.choices import WorkState
from garage.background.models import QueuedWork
from garage.background.registry import handler_of
from garage.celery import app

# The task's name in `tasks.py`, which runs these services and so cannot be imported here.
RUN_WORK = "background.run_work"

# Each further try means that another process queued and claimed the same work in the moment between
# our two statements.
_TRIES = 5


def work_enqueue(*, kind: str, arguments: dict[str, Any], now: datetime) -> QueuedWork:
    """Queue work of a registered kind and return its row.

    The same kind with the same arguments that still waits is not queued again: its row is
    returned, and it will see what the caller's transaction writes. Work that already runs is
    queued once more, for it may have read the old state.
    """
    handler_of(kind)
    key = dedupe_key(kind, arguments)
    for _ in range(_TRIES):
        with transaction.atomic():
            # Locked, so that no worker can claim the row before the caller's writes are committed.
            waiting = (
                QueuedWork.objects.select_for_update()
                .filter(dedupe_key=key, state=WorkState.QUEUED)
                .first()
            )
            work = waiting or _insert(kind, arguments, key, now)
        if work is not None:
            send_when_committed(work.pk)
            return work
    raise RuntimeError(f"work of kind {kind!r} could not be queued: {_TRIES} tries were overtaken")


def dedupe_key(kind: str, arguments: dict[str, Any]) -> str:
    """The same for the same kind and arguments, whatever the order of the arguments' names."""
    canonical = json.dumps(arguments, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return f"{kind}:{hashlib.sha256(canonical.encode()).hexdigest()[:48]}"


def send_when_committed(work_id: int) -> None:
    """Tell a worker about the row, after the transaction that holds it has committed.

    A broker that does not answer must not fail a request whose writes are committed: the row waits
    and is sent again when a worker starts.
    """
    transaction.on_commit(
        lambda: app.send_task(RUN_WORK, args=[work_id], ignore_result=True), robust=True
    )


def _insert(kind: str, arguments: dict[str, Any], key: str, now: datetime) -> QueuedWork | None:
    try:
        with transaction.atomic():
            return QueuedWork.objects.create(
                kind=kind, arguments=arguments, dedupe_key=key, queued_at=now
            )
    except IntegrityError:
        return None

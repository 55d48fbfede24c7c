"""Do one piece of queued work, at most one worker at a time."""

import logging
from collections.abc import Callable
from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models import F

from garage.background.choices import WorkState
from garage.background.models import QueuedWork
from garage.background.registry import handler_of
from garage.background.services.enqueue import send_when_committed

logger = logging.getLogger(__name__)

_ERROR_LENGTH = 2000


def work_run(*, work_id: int, worker: str, clock: Callable[[], datetime]) -> QueuedWork | None:
    """Claim the work, do it and record what became of it.

    Returns None, having done nothing, where the row is not waiting (done already, running
    elsewhere, gone) or the same work is just running: messages may come twice.
    """
    work = _claim(work_id, worker, clock())
    if work is None:
        return None
    try:
        handler_of(work.kind)(work.arguments, clock())
    except Exception as error:  # noqa: BLE001 - whatever a handler raises belongs to its row
        logger.warning("work %s failed: %s", work.pk, type(error).__qualname__)
        text = f"{type(error).__qualname__}: {error}"[:_ERROR_LENGTH]
        _end(work, WorkState.FAILED, clock(), error=text)
    else:
        _end(work, WorkState.DONE, clock())
    return work


def _claim(work_id: int, worker: str, now: datetime) -> QueuedWork | None:
    try:
        with transaction.atomic():
            claimed = QueuedWork.objects.filter(pk=work_id, state=WorkState.QUEUED).update(
                state=WorkState.RUNNING, started_at=now, worker=worker, attempts=F("attempts") + 1
            )
    except IntegrityError:
        # The same work is running: its end sends this one again.
        return None
    return QueuedWork.objects.get(pk=work_id) if claimed else None


def _end(work: QueuedWork, state: WorkState, now: datetime, *, error: str = "") -> None:
    assert work.started_at is not None
    work.state = state.value
    work.error = error
    work.finished_at = max(now, work.started_at)  # a clock set back must not keep work unfinished
    with transaction.atomic():
        # By attempt too: a worker that was given up for lost must not end its successor's run.
        QueuedWork.objects.filter(
            pk=work.pk, state=WorkState.RUNNING, attempts=work.attempts
        ).update(state=work.state, finished_at=work.finished_at, error=error)
        following = QueuedWork.objects.filter(
            dedupe_key=work.dedupe_key, state=WorkState.QUEUED
        ).first()
        if following is not None:
            send_when_committed(following.pk)

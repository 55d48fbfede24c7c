"""Find the work again that a killed worker left behind."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q

from garage.background.choices import WorkState
from garage.background.models import QueuedWork
from garage.background.registry import given_up_of
from garage.background.services.enqueue import send_when_committed

logger = logging.getLogger(__name__)

# Work that has been lost this often probably kills its worker: it must not do so for ever.
# Judgement, no source.
ATTEMPTS_ALLOWED = 3

# Running longer than this means that the worker is gone, whoever it was: the longest work known (a
# whole register counted anew) takes minutes. Judgement, no source.
LOST_AFTER = timedelta(hours=6)


@dataclass(frozen=True)
class Requeued:
    """How many rows were taken up again, and how many were given up."""

    waiting: int
    interrupted: int
    given_up: int


@transaction.atomic
def work_requeue_unfinished(*, worker: str | None, now: datetime) -> Requeued:
    """Send everything that waits, and what was running when its worker was lost.

    `worker` is the name of the worker that has just started, whose running rows can only be from
    its earlier life; None says that no other worker exists, so all running rows are lost.
    """
    lost = QueuedWork.objects.select_for_update().filter(state=WorkState.RUNNING)
    if worker is not None:
        lost = lost.filter(Q(worker=worker) | Q(started_at__lte=now - LOST_AFTER))
    interrupted = given_up = 0
    for work in lost:
        reason = _reason_to_give_up(work)
        if reason:
            given_up += 1
            _give_up(work, reason, now)
        else:
            interrupted += 1
            work.state, work.started_at, work.worker = WorkState.QUEUED.value, None, ""
            work.save(update_fields=["state", "started_at", "worker"])
    waiting = list(
        QueuedWork.objects.filter(state=WorkState.QUEUED)
        .order_by("queued_at", "pk")
        .values_list("pk", flat=True)
    )
    for work_id in waiting:
        send_when_committed(work_id)
    return Requeued(waiting=len(waiting) - interrupted, interrupted=interrupted, given_up=given_up)


def _reason_to_give_up(work: QueuedWork) -> str:
    if work.attempts >= ATTEMPTS_ALLOWED:
        return f"its worker was lost {work.attempts} times"
    queued_since = QueuedWork.objects.filter(
        dedupe_key=work.dedupe_key, state=WorkState.QUEUED
    ).first()
    if queued_since is not None:
        return f"its worker was lost; work {queued_since.pk}, queued since, does the same"
    return ""


def _give_up(work: QueuedWork, reason: str, now: datetime) -> None:
    assert work.started_at is not None
    work.state, work.error = WorkState.FAILED.value, reason
    work.finished_at = max(now, work.started_at)
    work.save(update_fields=["state", "error", "finished_at"])
    told = given_up_of(work.kind)
    if told is not None:
        told(work.arguments, now)
    logger.warning("work %s given up: %s", work.pk, reason)

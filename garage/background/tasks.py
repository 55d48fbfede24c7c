"""The Celery task that does a piece of queued work, and what a worker does at its start."""

from typing import Any

from celery.signals import worker_ready
from django.conf import settings
from django.utils import timezone

from garage.background.embedded import WAKE
from garage.background.services.enqueue import RUN_WORK
from garage.background.services.requeue import work_requeue_unfinished
from garage.background.services.run import work_run
from garage.celery import app


@app.task(bind=True, name=RUN_WORK)
def run_work(self: Any, work_id: int) -> None:
    """Safe to be sent twice; the row says whether there is anything to do."""
    work_run(work_id=work_id, worker=self.request.hostname or "", clock=timezone.now)


@app.task(name=WAKE)
def wake() -> None:
    """Nothing; a worker that waits for messages looks at its stop signal after each."""


@worker_ready.connect
def take_up_unfinished(sender: Any, **_: Any) -> None:
    """A worker process that has come back looks for the work it was killed in.

    The embedded worker does this before it starts, knowing that it is alone.
    """
    if not settings.WORKER_IS_EMBEDDED:
        work_requeue_unfinished(worker=sender.hostname, now=timezone.now())

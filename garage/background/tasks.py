"""The one Celery task: do a piece of queued work."""

from typing import Any

from celery.signals import worker_ready
from django.conf import settings
from django.utils import timezone

from garage.background.services.enqueue import RUN_WORK
from garage.background.services.requeue import work_requeue_unfinished
from garage.background.services.run import work_run
from garage.celery import app


@app.task(bind=True, name=RUN_WORK)
def run_work(self: Any, work_id: int) -> None:
    """Safe to be sent twice; the row says whether there is anything to do."""
    work_run(work_id=work_id, worker=self.request.hostname or "", clock=timezone.now)


@worker_ready.connect
def take_up_unfinished(sender: Any, **_: Any) -> None:
    """A worker process that has come back looks for the work it was killed in.

    The embedded worker does this before it starts, knowing that it is alone.
    """
    if not settings.CELERY_BROKER_URL.startswith("memory"):
        work_requeue_unfinished(worker=sender.hostname, now=timezone.now())

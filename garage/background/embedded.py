"""The task worker as a thread of the server process, for an installation on one machine.

Start it in a process that will not fork afterwards, once: Celery keeps its stop signals per module,
so a process can hold one worker.
"""

import logging
import os
import threading
from typing import Any

from celery.worker import state as celery_state

from garage.celery import app

# The name of the task that does nothing.
WAKE = "background.wake"

_lock = threading.Lock()
_running: dict[str, Any] = {}


def start() -> None:
    """Start the worker thread; a second call changes nothing."""
    with _lock:
        if _running:
            return
        worker = app.WorkController(
            pool="solo",
            concurrency=1,
            hostname=f"embedded-{os.getpid()}",
            loglevel=logging.WARNING,
            without_gossip=True,
            without_mingle=True,
            without_heartbeat=True,
            quiet=True,
        )
        thread = threading.Thread(target=worker.start, name="embedded-worker", daemon=True)
        thread.start()
        _running.update(worker=worker, thread=thread)


def stop(timeout_seconds: float | None = None) -> bool:
    """Let the running task finish, then end the thread; False if it has not ended in time.

    Messages that wait are dropped with the process; their rows are found at the next start.
    """
    with _lock:
        thread: threading.Thread | None = _running.get("thread")
        if thread is None:
            return True
        celery_state.should_stop = 0
        # It waits for messages, two seconds at a time, and once more after it has seen the signal.
        for _ in range(2):
            app.send_task(WAKE, ignore_result=True)
        thread.join(timeout_seconds)
        if thread.is_alive():
            return False
        celery_state.should_stop = None
        _running.clear()
        return True

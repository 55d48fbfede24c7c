"""A task worker for tests: in this process over memory, or a Celery process over Redis."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.db import connection

from deploy.servers import dies_with_parent
from garage.background import embedded
from garage.background.choices import WorkState
from garage.background.models import QueuedWork

REPO = Path(__file__).resolve().parent.parent
OVER = (WorkState.DONE, WorkState.FAILED)


class TaskWorker:
    """Waits for queued work to be over."""

    def wait_for(self, work: QueuedWork, *, timeout_seconds: float = 60) -> QueuedWork:
        """The row once its work is done or failed."""
        deadline = time.monotonic() + timeout_seconds
        pause = threading.Event()
        while True:
            work.refresh_from_db()
            if work.state in OVER:
                return work
            if time.monotonic() > deadline:
                raise AssertionError(f"{work} was not over after {timeout_seconds} s")
            pause.wait(0.02)


@contextmanager
def task_worker_running() -> Iterator[TaskWorker]:
    """The worker that belongs to this run's broker."""
    if settings.WORKER_IS_EMBEDDED:
        embedded.start()
        try:
            yield TaskWorker()
        finally:
            assert embedded.stop(timeout_seconds=60), "the embedded worker did not end"
        return
    process = celery_process_start("tests@this")
    try:
        yield TaskWorker()
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(60)


def celery_process_start(name: str) -> subprocess.Popen[bytes]:
    """A Celery worker on the database of the tests that run now."""
    command = [
        sys.executable,
        "-m",
        "celery",
        "--quiet",
        "-A",
        "garage",
        "worker",
        "--pool",
        "solo",
    ]
    command += ["-n", name, "--without-gossip", "--without-mingle", "--loglevel", "WARNING"]
    return subprocess.Popen(
        command,
        cwd=REPO,
        env=environment_of_the_tests() | {"DJANGO_SETTINGS_MODULE": "tests.settings"},
        stdin=subprocess.DEVNULL,
        preexec_fn=dies_with_parent(signal.SIGKILL),
    )


def environment_of_the_tests() -> dict[str, str]:
    """This process's environment, its database the one that the tests were given."""
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        url = f"sqlite:///{name}"
    else:
        url = f"postgres://postgres@{quote(connection.settings_dict['HOST'], safe='')}/{name}"
    return dict(os.environ) | {"REGISTER_DATABASE_URL": url}

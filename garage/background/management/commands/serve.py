"""Serve pages and API, with the task worker in the same process."""

import fcntl
import signal
import sys
import types
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.wsgi import get_wsgi_application
from django.utils import timezone
from waitress.server import create_server

from garage.background import embedded
from garage.background.services import work_requeue_unfinished

# Requests are short; four answer side by side while one waits for the database. Judgement.
THREADS = 4


class Command(BaseCommand):
    help = (
        "Serve pages and API. With the broker memory:// the task worker runs in this process;"
        " with redis:// start workers of their own: celery -A garage worker -n NAME@%h"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="0 takes a free one")

    def handle(self, *args: Any, **options: Any) -> None:
        signal.signal(signal.SIGTERM, _leave)
        alone = settings.WORKER_IS_EMBEDDED
        with _only_server(settings.ENVIRONMENT.data_dir) if alone else _nothing():
            server = _server(options["host"], options["port"])
            try:
                if alone:
                    self._start_worker()
                host, port = server.socket.getsockname()[:2]
                self.stdout.write(f"Serving on http://{host}:{port}/ - Ctrl-C stops it.")
                self.stdout.flush()
                server.run()
            finally:
                server.close()
                self._stop_worker()

    def _start_worker(self) -> None:
        found = work_requeue_unfinished(worker=None, now=timezone.now())
        embedded.start()
        if found.waiting or found.interrupted or found.given_up:
            self.stdout.write(
                f"Work left from the last run: {found.waiting} waiting and {found.interrupted}"
                f" interrupted taken up again, {found.given_up} given up."
            )

    def _stop_worker(self) -> None:
        if not embedded.stop(timeout_seconds=0.5):
            self.stdout.write(
                "Finishing the running work; stop again to leave it for the next start."
            )
            self.stdout.flush()
            embedded.stop()


def _server(host: str, port: int) -> Any:
    try:
        return create_server(get_wsgi_application(), host=host, port=port, threads=THREADS)
    except (OSError, OverflowError) as error:
        raise CommandError(
            f"the port must be free; {host}:{port} is not ({error}). Choose another with --port."
        ) from error


def _leave(signum: int, frame: types.FrameType | None) -> None:
    sys.exit(0)


@contextmanager
def _nothing() -> Iterator[None]:
    yield


@contextmanager
def _only_server(data_dir: Path) -> Iterator[None]:
    """Hold the data folder: a second worker would take the first one's running work for lost."""
    data_dir.mkdir(parents=True, exist_ok=True)
    with (data_dir / "serve.lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CommandError(
                f"one server works on a data folder; another holds {data_dir}. Stop it first, or"
                " choose another folder."
            ) from None
        yield

"""The `serve` command as a process: address, worker, signals, and work found after a kill."""

import os
import select
import signal
import sqlite3
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from deploy.servers import dies_with_parent
from tests.work_app.pipes import Pipes

WAIT_SECONDS = 60


class Installation:
    """A data folder of its own with an SQLite database, and the servers started on it."""

    def __init__(self, repo: Path, folder: Path) -> None:
        self.repo, self.data = repo, folder / "data"
        kept = {name: text for name, text in os.environ.items() if name[:9] != "REGISTER_"}
        self.environment = kept | {"REGISTER_MODE": "test", "REGISTER_DATA_DIR": str(self.data)}
        self.data.mkdir()
        self.processes: list[subprocess.Popen[bytes]] = []
        self.manage("migrate", "--verbosity", "0")

    def manage(self, *arguments: str) -> None:
        command = [sys.executable, "manage.py", *arguments]
        subprocess.run(command, cwd=self.repo, env=self.environment, check=True)

    def serve(self) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", "0"],
            cwd=self.repo,
            env=self.environment,
            stdout=subprocess.PIPE,
            bufsize=0,  # a second line must not wait in a buffer that select does not see
            preexec_fn=_as_from_a_terminal,
        )
        self.processes.append(process)
        return process

    def work_states(self) -> list[tuple[str, int]]:
        database = sqlite3.connect(self.data / "register.sqlite3")
        try:
            rows = database.execute("select state, attempts from background_queuedwork")
            return rows.fetchall()
        finally:
            database.close()


@pytest.fixture
def installation(repo: Path, tmp_path: Path) -> Iterator[Installation]:
    made = Installation(repo, tmp_path)
    yield made
    for process in made.processes:
        process.kill()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()


_dies_with_parent = dies_with_parent(signal.SIGKILL)


def _as_from_a_terminal() -> None:
    """What a run in the background hands on, that SIGINT be ignored, is taken back."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    if _dies_with_parent is not None:
        _dies_with_parent()


def address_of(process: subprocess.Popen[bytes]) -> str:
    return line_with(process, "Serving on ").removeprefix("Serving on ").split(" ")[0]


def line_with(process: subprocess.Popen[bytes], text: str) -> str:
    assert process.stdout is not None
    while True:
        ready, _, _ = select.select([process.stdout], [], [], WAIT_SECONDS)
        assert ready, f"no line with {text!r} came in {WAIT_SECONDS} s"
        line = process.stdout.readline().decode()
        assert line, f"the server ended without a line with {text!r}"
        if text in line:
            return line


def test_serve_answers_with_the_policy_and_ends_on_sigterm(installation: Installation) -> None:
    process = installation.serve()
    with pytest.raises(urllib.error.HTTPError) as answer:
        urllib.request.urlopen(address_of(process) + "no-such-page/", timeout=WAIT_SECONDS)
    with answer.value as response:
        assert response.code == 404
        assert "default-src 'self'" in response.headers["Content-Security-Policy"]
    process.send_signal(signal.SIGTERM)
    assert process.wait(WAIT_SECONDS) == 0


@pytest.mark.parametrize("signum", [signal.SIGTERM, signal.SIGINT])
def test_serve_finishes_the_running_work_when_stopped(
    installation: Installation, tmp_path: Path, pipes: Pipes, signum: signal.Signals
) -> None:
    installation.manage("queue_test_work", "tests.hold", f'{{"folder": "{tmp_path}"}}')
    process = installation.serve()
    address_of(process)
    pipes.wait_started()
    process.send_signal(signum)
    line_with(process, "Finishing the running work")
    pipes.release()
    assert process.wait(WAIT_SECONDS) == 0
    assert installation.work_states() == [("done", 1)]
    assert pipes.lines() == ["held"]


def test_serve_killed_finds_its_work_at_the_next_start(
    installation: Installation, tmp_path: Path, pipes: Pipes
) -> None:
    installation.manage("queue_test_work", "tests.hold", f'{{"folder": "{tmp_path}"}}')
    trace = tmp_path / "waiting"
    installation.manage("queue_test_work", "tests.append", f'{{"file": "{trace}", "line": "x"}}')
    killed = installation.serve()
    pipes.wait_started()
    killed.send_signal(signal.SIGKILL)
    assert killed.wait(WAIT_SECONDS) == -signal.SIGKILL
    assert installation.work_states() == [("running", 1), ("queued", 0)]

    following = installation.serve()
    assert "1 waiting and 1 interrupted" in line_with(following, "Work left from the last run")
    pipes.wait_started()
    following.send_signal(signal.SIGTERM)
    pipes.release()
    assert following.wait(WAIT_SECONDS) == 0
    assert installation.work_states()[0] == ("done", 2)
    assert pipes.lines() == ["held"]


def test_serve_on_a_folder_that_is_served_is_refused(installation: Installation) -> None:
    first = installation.serve()
    address_of(first)
    second = subprocess.run(
        [sys.executable, "manage.py", "serve", "--port", "0"],
        cwd=installation.repo,
        env=installation.environment,
        capture_output=True,
        text=True,
        timeout=WAIT_SECONDS,
    )
    assert second.returncode == 1
    assert "one server works on a data folder" in second.stderr

"""What `deploy/run` does once the packages are there, as a process on a data folder of its own."""

import os
import re
import select
import signal
import sqlite3
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from deploy.servers import dies_with_parent

WAIT_SECONDS = 120
COUNTED = ("records_organisation", "records_vehicle", "records_job", "auth_user")


class Register:
    """A data folder and the processes started on it."""

    def __init__(self, repo: Path, data: Path) -> None:
        self.repo, self.data = repo, data
        kept = {name: text for name, text in os.environ.items() if name[:9] != "REGISTER_"}
        kept.pop("DJANGO_SETTINGS_MODULE", None)
        self.environment = kept | {"REGISTER_DATA_DIR": str(data)}
        self.processes: list[subprocess.Popen[bytes]] = []

    def start(self, *options: str) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "-m", "deploy.start_up", "--port", "0", *options],
            cwd=self.repo,
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            bufsize=0,
            preexec_fn=dies_with_parent(signal.SIGKILL),
        )
        self.processes.append(process)
        return process

    def report(self, *options: str) -> str:
        process = self.start("--report-only", *options)
        output, _ = process.communicate(timeout=WAIT_SECONDS)
        assert process.returncode == 0, output.decode()
        return output.decode()

    def counts(self) -> list[int]:
        database = sqlite3.connect(self.data / "register.sqlite3")
        try:
            return [
                database.execute(f"select count(*) from {table}").fetchone()[0] for table in COUNTED
            ]
        finally:
            database.close()


def fetched(address: str) -> str:
    with urllib.request.urlopen(address, timeout=WAIT_SECONDS) as answer:
        assert answer.status == 200
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
        return answer.read().decode()


@pytest.fixture
def register(repo: Path, tmp_path: Path) -> Iterator[Register]:
    made = Register(repo, tmp_path / "data")
    yield made
    for process in made.processes:
        process.kill()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()


def test_second_start_duplicates_nothing_and_reports_the_same(register: Register) -> None:
    first = register.report()
    counts = register.counts()
    assert min(counts) > 0
    assert "flagged" in first
    second = register.report()
    assert register.counts() == counts
    assert second.splitlines()[-5:] == first.splitlines()[-5:]


def test_empty_start_loads_nothing_and_says_what_to_do(register: Register) -> None:
    assert "add_organisation" in register.report("--empty")
    assert register.counts() == [0, 0, 0, 0]
    assert register.data.stat().st_mode & 0o077 == 0  # nobody else's business


def test_start_serves_pages_with_their_files_until_stopped(register: Register) -> None:
    process = register.start("--empty")
    assert process.stdout is not None
    line = ""
    while not line.startswith("Serving on "):
        ready, _, _ = select.select([process.stdout], [], [], WAIT_SECONDS)
        assert ready, f"no address came in {WAIT_SECONDS} s"
        line = process.stdout.readline().decode()
        assert line, "the server ended without an address"
    address = line.removeprefix("Serving on ").split(" ")[0]
    page = fetched(f"{address}sign-in/")
    named = set(re.findall(r'(?:href|src)="/(static/[^"]+)"', page))
    assert named
    for path in [*sorted(named), "static/pages/built/chart-library.js"]:
        assert fetched(address + path)
    process.send_signal(signal.SIGTERM)
    assert process.wait(WAIT_SECONDS) == 0

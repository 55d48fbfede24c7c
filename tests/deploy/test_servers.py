"""Private servers: they start, serve, step down from root and leave nothing behind."""

import os
import select
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import unquote, urlsplit

import psycopg
import pytest

from deploy import servers
from deploy.run_folder import SWEEP_AFTER_SECONDS, run_folder_make, sweep_folders

WAIT_SECONDS = 60


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder with a path short enough for a socket."""
    made = run_folder_make()
    yield made
    subprocess.run(["rm", "-rf", str(made)], check=True)


@pytest.fixture(params=["first found", "wheel"])
def programs(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """The servers of this machine, and those that the wheels carry."""
    if request.param == "wheel":
        postgresql = servers.postgresql_programs_of_wheel()
        redis = servers.redis_program_of_wheel()
        assert postgresql is not None
        assert redis is not None
        monkeypatch.setenv("TEST_PG_BIN", str(postgresql))
        monkeypatch.setenv("TEST_REDIS_BIN", str(redis.parent))


def uid_of(process: subprocess.Popen[bytes]) -> int:
    status = Path(f"/proc/{process.pid}/status").read_text()
    return int(status.split("Uid:")[1].split()[0])


@pytest.mark.usefixtures("programs")
def test_postgresql_starts_serves_and_stops(folder: Path) -> None:
    server = servers.start_postgresql(folder / "pg")
    socket_folder = unquote(urlsplit(server.url).netloc.split("@")[1])
    with psycopg.connect(host=socket_folder, user="postgres", dbname="postgres") as connection:
        assert connection.execute("select 6 * 7").fetchone() == (42,)
    assert uid_of(server.process) != 0
    server.stop()
    assert server.process.returncode == 0
    assert not (folder / "pg" / "cluster" / "postmaster.pid").exists()


@pytest.mark.usefixtures("programs")
def test_redis_starts_serves_and_stops(folder: Path) -> None:
    server = servers.start_redis(folder / "redis")
    port = urlsplit(server.url).port
    with socket.create_connection(("127.0.0.1", port), timeout=WAIT_SECONDS) as connection:
        connection.sendall(b"SET a 1\r\nGET a\r\n")
        answer = connection.makefile("rb")
        assert [answer.readline() for _ in range(3)] == [b"+OK\r\n", b"$1\r\n", b"1\r\n"]
    assert uid_of(server.process) != 0
    server.stop()
    assert server.process.returncode == 0
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", port), timeout=WAIT_SECONDS)


def test_servers_of_a_killed_process_end_too(folder: Path, repo: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from deploy import servers\n"
        "folder = Path(sys.argv[1])\n"
        "started = [servers.start_postgresql(folder / 'pg'), servers.start_redis(folder / 'r')]\n"
        "print(*(server.process.pid for server in started), flush=True)\n"
        "sys.stdin.read()\n"
    )
    parent = subprocess.Popen(
        [sys.executable, "-c", script, str(folder)],
        cwd=repo,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert parent.stdin is not None
    assert parent.stdout is not None
    with parent.stdin, parent.stdout:
        pids = [int(pid) for pid in parent.stdout.readline().split()]
        assert len(pids) == 2
        watched = [os.pidfd_open(pid) for pid in pids]
        parent.kill()
        assert parent.wait(WAIT_SECONDS) == -signal.SIGKILL
    for descriptor in watched:
        ended, _, _ = select.select([descriptor], [], [], WAIT_SECONDS)
        os.close(descriptor)
        assert ended, "a server has outlived the process that started it"


def test_server_that_cannot_start_says_why(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = folder / "valkey-server"
    broken.write_text("#!/bin/sh\necho out of memory\nexit 1\n")
    broken.chmod(0o755)
    monkeypatch.setenv("TEST_REDIS_BIN", str(folder))
    with pytest.raises(servers.NoServer, match="did not start:\nout of memory"):
        servers.start_redis(folder / "redis")


@pytest.mark.parametrize(
    ("variable", "find"),
    [
        ("TEST_PG_BIN", servers.postgresql_programs),
        ("TEST_REDIS_BIN", servers.redis_program),
    ],
)
def test_programs_named_wrongly_are_refused_by_name(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, variable: str, find: Callable[[], Path]
) -> None:
    monkeypatch.setenv(variable, str(tmp_path / "none"))
    with pytest.raises(servers.NoServer, match=f"{variable} must be .*none"):
        find()


def folder_of(pid: int, parent: Path) -> Path:
    made = parent / f"register-test-{pid}-x"
    made.mkdir()
    (made / "file").touch()
    return made


def test_sweep_removes_old_folders_of_dead_processes_only(tmp_path: Path) -> None:
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    dead, alive = folder_of(ended.pid, tmp_path), folder_of(os.getpid(), tmp_path)
    (tmp_path / "register-test-unnamed").mkdir()
    modified = dead.stat().st_mtime
    assert sweep_folders(tmp_path, now_seconds=modified + SWEEP_AFTER_SECONDS - 1) == []
    assert sweep_folders(tmp_path, now_seconds=modified + SWEEP_AFTER_SECONDS + 1) == [dead]
    assert alive.exists()
    assert (tmp_path / "register-test-unnamed").exists()

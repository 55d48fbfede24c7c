"""Make the virtual environment and install a pinned set of packages into it, once.

Standard library only: it runs before anything is installed.
"""

import fcntl
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

PinnedSet = Literal["run", "test"]

# The test set holds everything of the run set, at the same versions.
COVERED_BY: dict[PinnedSet, tuple[PinnedSet, ...]] = {"run": ("run",), "test": ("run", "test")}


class CannotInstall(RuntimeError):
    """The environment cannot be made; the message says what to do."""


def installation_ensure(repo: Path, wanted: PinnedSet) -> Path:
    """The environment's interpreter, with the pinned set installed; quick when it is there."""
    python = repo / ".venv" / "bin" / "python"
    stamp = repo / ".venv" / "installed.json"
    requirements = repo / "deploy" / "requirements"
    with _one_at_a_time(requirements):
        if _works(python) and _installed(stamp).get(wanted) == _digest(requirements, wanted):
            return python
        _make_environment(repo / ".venv", python)
        print(f"Installing the packages of deploy/requirements/{wanted}.txt ...", flush=True)
        stamp.unlink(missing_ok=True)
        _pip(
            python, "install", "--require-hashes", "--only-binary", ":all:",
            "-r", str(requirements / f"{wanted}.txt"),
        )  # fmt: skip
        covered = {name: _digest(requirements, name) for name in COVERED_BY[wanted]}
        stamp.write_text(json.dumps(covered))
    return python


def _digest(requirements: Path, name: PinnedSet) -> str:
    return hashlib.sha256((requirements / f"{name}.txt").read_bytes()).hexdigest()


def _installed(stamp: Path) -> dict[str, str]:
    try:
        found = json.loads(stamp.read_text())
    except (FileNotFoundError, json.JSONDecodeError):
        return {}
    return found if isinstance(found, dict) else {}


@contextmanager
def _one_at_a_time(folder: Path) -> Iterator[None]:
    """A second start waits for the first one's installation instead of mixing with it."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def _works(python: Path) -> bool:
    """Whether the interpreter is there, starts (its base may be gone) and is new enough."""
    check = "import sys; sys.exit(sys.version_info < (3, 11))"
    try:
        return subprocess.run([str(python), "-c", check], capture_output=True).returncode == 0
    except OSError:
        return False


def _make_environment(folder: Path, python: Path) -> None:
    if not _works(python):
        print(f"Making the virtual environment {folder.name} ...", flush=True)
        made = subprocess.run(
            [sys.executable, "-m", "venv", "--clear", str(folder)], capture_output=True, text=True
        )
        if made.returncode != 0:
            raise CannotInstall(
                "Python's venv must work; it said:\n"
                f"{(made.stdout + made.stderr).strip()}\n"
                "On Debian and its relatives install it with: apt-get install python3-venv"
            )
    if subprocess.run([str(python), "-m", "pip", "--version"], capture_output=True).returncode:
        subprocess.run([str(python), "-m", "ensurepip", "--default-pip"], check=True)


def _pip(python: Path, *arguments: str) -> None:
    quiet = [] if sys.stdout.isatty() else ["--quiet"]  # on a terminal pip shows its progress
    command = [str(python), "-m", "pip", "--disable-pip-version-check", "--no-input", *quiet]
    if subprocess.run([*command, *arguments]).returncode != 0:
        raise CannotInstall(
            "The pinned packages could not be installed (pip's message is above). If the package"
            " index could not be reached, run this again once it can; nothing is lost."
        )

"""Every check of the project, one after the other: what `deploy/test` runs.

Standard library only. A step that fails does not keep the next from running; the exit code is 0
only if all pass.
"""

import json
import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from deploy.installation import CannotInstall, installation_ensure
from deploy.run_folder import run_folder_make
from deploy.servers import dies_with_parent

REPO = Path(__file__).resolve().parent.parent
# Whole files, in the order that pytest-django gives: see deploy.pytest_plugin.
SPREAD = ["--dist", "loadgroup", "--no-loadscope-reorder"]
# Of a developer's own register, and of a test run in whose processes this one may be.
OF_ANOTHER_RUN = ("REGISTER_", "PYTEST_XDIST_")
NO_TESTS_SELECTED = 5  # pytest's exit code
LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"


@dataclass(frozen=True)
class Step:
    """One command, by its arguments to the environment's interpreter."""

    title: str
    arguments: list[str]
    environment: dict[str, str] = field(default_factory=dict)
    # Tests chosen by the caller may lie where this step has nothing to run.
    may_select_nothing: bool = False


@dataclass(frozen=True)
class Result:
    """How a step ended."""

    title: str
    passed: bool
    seconds: float
    remark: str = ""


def steps_of(pytest_arguments: list[str], folder: Path) -> list[Step]:
    """All steps in their order; `folder` is one of this run, for files and data."""
    settings = {"REGISTER_MODE": "test", "REGISTER_DATA_DIR": str(folder)}
    production = {
        "REGISTER_MODE": "production",
        "REGISTER_DATA_DIR": str(folder),
        "REGISTER_SECRET_KEY": secrets.token_urlsafe(48),
        "REGISTER_ALLOWED_HOSTS": "register.example",
    }
    pytest = ["-m", "pytest", *pytest_arguments]
    if not pytest_arguments:
        # All tests take long enough to be worth a process a core.
        pytest += ["-n", str(os.cpu_count() or 1), *SPREAD]
    return [
        Step(
            "tests, SQLite and the worker in the process",
            pytest,
            {"TEST_COUNTS_FILE": str(folder / "counts-1.json"), "TEST_SERVERS": "none"},
        ),
        Step(
            "tests of data and tasks, PostgreSQL and Celery over Redis",
            [*pytest, "--data-and-tasks"],
            {"TEST_COUNTS_FILE": str(folder / "counts-2.json"), "TEST_SERVERS": "private"},
            may_select_nothing=bool(pytest_arguments),
        ),
        Step("lint", ["-m", "ruff", "check", "."]),
        Step("format", ["-m", "ruff", "format", "--check", "."]),
        Step("types", ["-m", "mypy"], settings),
        Step("import contract", ["-c", LINT_IMPORTS]),
        Step(
            "missing migrations", ["manage.py", "makemigrations", "--check", "--dry-run"], settings
        ),
        Step(
            "deployment check",
            ["manage.py", "check", "--deploy", "--fail-level", "WARNING"],
            production,
        ),
    ]


def step_run(step: Step, python: Path) -> Result:
    """Run one step, its output going where ours goes."""
    print(f"\n=== {step.title}", flush=True)
    kept = {name: text for name, text in os.environ.items() if not name.startswith(OF_ANOTHER_RUN)}
    started = time.monotonic()
    code = subprocess.run(
        [str(python), *step.arguments],
        cwd=REPO,
        env=kept | step.environment,
        stdin=subprocess.DEVNULL,
        preexec_fn=dies_with_parent(signal.SIGTERM),
    ).returncode
    seconds = time.monotonic() - started
    if code == NO_TESTS_SELECTED and step.may_select_nothing:
        return Result(step.title, True, seconds, "none of the chosen tests belongs here")
    return Result(step.title, code == 0, seconds, "" if code == 0 else f"exit code {code}")


def counts_of(folder: Path) -> Counter[str]:
    """The tests of all runs together."""
    counts: Counter[str] = Counter()
    for file in sorted(folder.glob("counts-*.json")):
        counts.update(json.loads(file.read_text()))
    return counts


def summary_print(results: list[Result], counts: Counter[str]) -> None:
    print("\n=== summary")
    for result in results:
        word = "ok    " if result.passed else "FAILED"
        print(f"{word} {result.seconds:7.1f} s  {result.title}  {result.remark}".rstrip())
    # Alone on its line, for those who read the end of the output only.
    print(f"{counts['passed']} passed, {counts['failed']} failed, {counts['skipped']} skipped")


def main(pytest_arguments: list[str]) -> int:
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        started = time.monotonic()
        python = installation_ensure(REPO, "test")
    except CannotInstall as error:
        print(f"deploy/test: {error}", file=sys.stderr)
        return 1
    results = [Result("installation", True, time.monotonic() - started)]
    folder = run_folder_make()
    try:
        results.extend(step_run(step, python) for step in steps_of(pytest_arguments, folder))
        summary_print(results, counts_of(folder))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    return 0 if all(result.passed for result in results) else 1


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)

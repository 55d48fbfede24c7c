"""The pytest plugin behind every test run: its own data folder, its own servers, its own counts.

Loaded by `-p` in `addopts`, for pytest-django reads the settings before any `conftest.py`.
`TEST_SERVERS=private` (set by deploy/test) runs on private PostgreSQL and Redis-protocol servers,
else the run is on SQLite with the worker in the process.
"""

import atexit
import json
import os
import shutil
from pathlib import Path

import pytest

from deploy.run_folder import run_folder_make
from deploy.servers import PrivateServer, start_postgresql, start_redis

# Fixtures by which pytest-django gives a test the database.
DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server"}
REAL_TRANSACTIONS = DATABASE_FIXTURES - {"db"}


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("register")
    group.addoption(
        "--data-and-tasks",
        action="store_true",
        help="run only the tests that use the database, those in a browser left out",
    )
    # The first hook there is: pytest-django's, which reads the settings, comes next.
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    if worker is None:
        _prepare_environment()
    else:
        _part_environment(worker)


def _prepare_environment() -> None:
    for name in [name for name in os.environ if name.startswith("REGISTER_")]:
        del os.environ[name]  # a developer's own settings are not the tests'
    folder = run_folder_make()
    servers: list[PrivateServer] = []
    atexit.register(_clean_up, os.getpid(), servers, folder)
    os.environ["REGISTER_MODE"] = "test"
    os.environ["REGISTER_DATA_DIR"] = str(folder / "data")
    (folder / "data").mkdir(mode=0o700)
    os.environ["REGISTER_BROKER_URL"] = "memory://"
    wanted = os.environ.get("TEST_SERVERS", "none")
    if wanted not in ("none", "private"):
        raise pytest.UsageError(f"TEST_SERVERS must be none or private; got {wanted!r}")
    if wanted == "private":
        servers.append(start_postgresql(folder / "postgresql"))
        os.environ["REGISTER_DATABASE_URL"] = servers[-1].url
        servers.append(start_redis(folder / "redis"))
        os.environ["REGISTER_BROKER_URL"] = servers[-1].url


def _part_environment(worker: str) -> None:
    """Give one of several processes of a run its own data folder and queue; on the same servers."""
    folder = Path(os.environ["REGISTER_DATA_DIR"]) / worker
    folder.mkdir(mode=0o700, exist_ok=True)
    os.environ["REGISTER_DATA_DIR"] = str(folder)
    if os.environ["REGISTER_BROKER_URL"].startswith("redis"):
        server = os.environ["REGISTER_BROKER_URL"].rpartition("/")[0]
        os.environ["REGISTER_BROKER_URL"] = f"{server}/{int(worker.removeprefix('gw'))}"


def _clean_up(pid: int, servers: list[PrivateServer], folder: Path) -> None:
    if os.getpid() != pid:
        return  # a forked child ends: the servers are not its own
    for server in servers:
        server.stop()
    shutil.rmtree(folder, ignore_errors=True)


def pytest_report_header() -> str:
    database = os.environ.get("REGISTER_DATABASE_URL", "sqlite")
    return (
        f"register: {database.partition(':')[0]},"
        f" broker {os.environ['REGISTER_BROKER_URL'].partition(':')[0]}"
    )


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    wanted = items
    if config.getoption("--data-and-tasks"):
        wanted = [item for item in wanted if _uses_data(item)]
    if os.environ["REGISTER_BROKER_URL"].startswith("memory"):
        wanted = [item for item in wanted if item.get_closest_marker("worker_process") is None]
    if len(wanted) < len(items):
        config.hook.pytest_deselected(items=[item for item in items if item not in set(wanted)])
        items[:] = wanted


def pytest_itemcollected(item: pytest.Item) -> None:
    """Keep the tests of a file in one process, but for those with real transactions.

    They empty all tables, the rows that migrations wrote too, so pytest-django puts them behind
    all other tests with data; spread by these groups in their order they stay there.
    """
    marker = item.get_closest_marker("django_db")
    real = not REAL_TRANSACTIONS.isdisjoint(getattr(item, "fixturenames", ())) or (
        marker is not None and bool(marker.kwargs.get("transaction"))
    )
    file = item.nodeid.partition("::")[0]
    item.add_marker(pytest.mark.xdist_group(f"{file} with real transactions" if real else file))


def _uses_data(item: pytest.Item) -> bool:
    if item.path.is_relative_to(item.config.rootpath / "tests" / "browser"):
        return False
    return item.get_closest_marker("django_db") is not None or not DATABASE_FIXTURES.isdisjoint(
        getattr(item, "fixturenames", ())
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, exitstatus: int) -> None:
    """Leave the counts for deploy/test."""
    target = os.environ.get("TEST_COUNTS_FILE")
    if target:
        stats = terminalreporter.stats
        counts = {name: len(stats.get(name, [])) for name in ("passed", "failed", "skipped")}
        counts["failed"] += len(stats.get("error", []))
        Path(target).write_text(json.dumps(counts))

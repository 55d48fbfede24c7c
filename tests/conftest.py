"""Fixtures shared by all tests."""

import importlib
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection
from django.test import TransactionTestCase
from hypothesis import settings

from tests.task_worker import TaskWorker, task_worker_running

REPO = Path(__file__).resolve().parent.parent

# The same examples in every run, on a machine of any speed.
settings.register_profile("fixed", derandomize=True, deadline=None, database=None)
settings.load_profile("fixed")


@pytest.fixture(scope="session", autouse=True)
def _audit_trail_can_be_flushed() -> Iterator[None]:
    """Between tests with real transactions all tables are emptied, the append-only trail too.

    PostgreSQL truncates, which is no DELETE of rows; SQLite deletes, and would be refused.
    """
    append_only = importlib.import_module("garage.records.migrations.0004_audit_append_only")
    teardown = TransactionTestCase._fixture_teardown

    def flush(case: TransactionTestCase) -> None:
        if connection.vendor != "sqlite":
            teardown(case)
            return
        with connection.schema_editor() as editor:
            append_only.allow(apps, editor)
        teardown(case)
        with connection.schema_editor() as editor:
            append_only.refuse(apps, editor)

    TransactionTestCase._fixture_teardown = flush
    yield
    TransactionTestCase._fixture_teardown = teardown


@pytest.fixture(scope="session")
def repo() -> Path:
    """The top folder of the project."""
    return REPO


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder of published data and check cases that lies beside the project."""
    folder = REPO.parent / "shared"
    if not folder.is_dir():
        pytest.skip("the folder of published data, ../shared, is not beside the project")
    return folder


@pytest.fixture(scope="session")
def chromium_program() -> str:
    """The browser of the browser tests; TEST_BROWSER=required makes its want a failure."""
    return _program("chromium", "TEST_BROWSER", "chromium")


@pytest.fixture(scope="session")
def rscript() -> str:
    """R, for tests that ask it; TEST_ORACLE=required makes its want a failure."""
    return _program("Rscript", "TEST_ORACLE", "r-base-core r-cran-survival")


def _program(name: str, setting: str, packages: str) -> str:
    program = shutil.which(name)
    if program is None:
        reason = f"no program {name} is installed; on Debian: apt-get install {packages}"
        if os.environ.get(setting) == "required":
            pytest.fail(reason)
        pytest.skip(reason)
    return program


@pytest.fixture
def task_worker(transactional_db: None) -> Iterator[TaskWorker]:
    """A running worker; the test queues work and waits for it with `task_worker.wait_for`."""
    with task_worker_running() as worker:
        yield worker

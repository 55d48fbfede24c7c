"""A pytest plugin that gives a test run its own data folder."""

import atexit
import os
import shutil
import tempfile

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    # Here, for it is the first hook: pytest-django reads the settings in the next one.
    if "PYTEST_XDIST_WORKER" in os.environ:
        return
    for name in [name for name in os.environ if name.startswith("REGISTER_")]:
        del os.environ[name]
    folder = tempfile.mkdtemp(prefix=f"register-test-{os.getpid()}-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["REGISTER_MODE"] = "test"
    os.environ["REGISTER_DATA_DIR"] = folder

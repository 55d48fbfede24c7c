"""The benchmark of imports measures what is recorded; how fast is no test's business."""

from pathlib import Path

import pytest

from fixtures.demo import write_large
from tests.benchmarks.histories import import_steps, manage

pytestmark = pytest.mark.slow


def test_import_is_measured_file_by_file(tmp_path: Path) -> None:
    files = write_large(tmp_path / "files", job_rows=200)
    steps = list(import_steps(files, {"REGISTER_DATA_DIR": str(tmp_path)}))
    assert [step.name.split(":")[0] for step in steps] == ["vehicles", "odometer", "jobs", "jobs"]
    assert all(step.processor_seconds and step.megabytes for step in steps)
    assert (tmp_path / "register.sqlite3").stat().st_size > 0


def test_command_that_fails_is_not_measured(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="add_organisation must end with 0"):
        manage("add_organisation", environment={"REGISTER_DATA_DIR": str(tmp_path)})

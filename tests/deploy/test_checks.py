"""`deploy/test`: one exit code for all steps, counts of all runs, no selection that is empty."""

import json
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from deploy import checks
from deploy.checks import Result, Step, counts_of, step_run, steps_of, summary_print

PYTHON = Path(sys.executable)
# Directories of tests that have nothing for a database server; any other must have something.
WITHOUT_DATA = {"benchmarks", "browser", "deploy", "docs", "fixtures", "lifetimes", "oracle"}


def exits_with(code: int, *, may_select_nothing: bool = False) -> Step:
    arguments = ["-c", f"raise SystemExit({code})"]
    return Step("step", arguments, may_select_nothing=may_select_nothing)


@pytest.mark.parametrize(
    ("step", "passed"),
    [
        (exits_with(0), True),
        (exits_with(1), False),
        (exits_with(5), False),
        (exits_with(5, may_select_nothing=True), True),
        (exits_with(1, may_select_nothing=True), False),
    ],
)
def test_step_passes_by_its_exit_code(step: Step, passed: bool) -> None:
    assert step_run(step, PYTHON).passed == passed


def test_run_of_everything_may_not_select_nothing(tmp_path: Path) -> None:
    assert not any(step.may_select_nothing for step in steps_of([], tmp_path))
    chosen = steps_of(["tests/lifetimes"], tmp_path)
    assert [step.may_select_nothing for step in chosen[:2]] == [False, True]


def test_arguments_reach_both_test_runs(tmp_path: Path) -> None:
    for step in steps_of(["-k", "vin"], tmp_path)[:2]:
        assert step.arguments[:4] == ["-m", "pytest", "-k", "vin"]


def test_all_tests_run_in_a_process_a_core_and_chosen_ones_in_one(tmp_path: Path) -> None:
    for step in steps_of([], tmp_path)[:2]:
        assert step.arguments[2:4] == ["-n", str(os.cpu_count())]
    for step in steps_of(["-k", "vin"], tmp_path)[:2]:
        assert "-n" not in step.arguments


@pytest.mark.parametrize("name", ["REGISTER_MODE", "PYTEST_XDIST_WORKER"])
def test_settings_of_the_caller_do_not_reach_a_step(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv(name, "nonsense")
    code = f"import os, sys; sys.exit({name!r} in os.environ)"
    assert step_run(Step("step", ["-c", code]), PYTHON).passed


@pytest.mark.parametrize(("bad", "code"), [((), 0), ((0,), 1), ((7,), 1)])
def test_exit_code_tells_of_any_failed_step(
    monkeypatch: pytest.MonkeyPatch, bad: tuple[int, ...], code: int
) -> None:
    monkeypatch.setattr(checks, "installation_ensure", lambda repo, wanted: PYTHON)
    monkeypatch.setattr(
        checks, "steps_of", lambda _a, _f: [exits_with(int(i in bad)) for i in range(8)]
    )
    assert checks.main([]) == code


def test_summary_ends_with_the_counts_of_all_runs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number, counts in enumerate(({"passed": 3, "failed": 0}, {"passed": 2, "failed": 1})):
        (tmp_path / f"counts-{number}.json").write_text(json.dumps({**counts, "skipped": 0}))
    summary_print([Result("tests", False, 1.25, "exit code 1")], counts_of(tmp_path))
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "5 passed, 1 failed, 0 skipped"
    assert re.fullmatch(r"FAILED +1\.2 s  tests  exit code 1", lines[-2])


def test_counts_without_any_run_are_zero(tmp_path: Path) -> None:
    assert counts_of(tmp_path) == Counter()


def test_counts_of_a_run_are_written(repo: Path, tmp_path: Path) -> None:
    (tmp_path / "test_two.py").write_text(
        "import pytest\n"
        "def test_good(): pass\n"
        "def test_bad(): assert False\n"
        "@pytest.fixture\n"
        "def broken(): raise ValueError\n"
        "def test_broken(broken): pass\n"
        "@pytest.mark.skip(reason='as asked')\n"
        "def test_skipped(): pass\n"
    )
    target = tmp_path / "counts.json"
    arguments = ["-m", "pytest", "-q", str(tmp_path), "-c", str(repo / "pyproject.toml")]
    checked = Step("step", arguments, {"TEST_COUNTS_FILE": str(target)})
    assert not step_run(checked, PYTHON).passed
    assert json.loads(target.read_text()) == {"passed": 1, "failed": 2, "skipped": 1}


def test_data_and_tasks_selects_from_every_directory_with_data(repo: Path) -> None:
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "--data-and-tasks"]
    listed = subprocess.run(command, cwd=repo, capture_output=True, text=True, check=True).stdout
    chosen = Counter(re.findall(r"^tests/(\w+)/", listed, flags=re.MULTILINE))
    directories = {
        file.relative_to(repo / "tests").parts[0] for file in repo.glob("tests/*/**/test_*.py")
    }
    assert directories - WITHOUT_DATA == set(chosen) - WITHOUT_DATA
    assert {"background", "records"} <= set(chosen)
    assert not {"lifetimes", "browser"} & set(chosen)

"""The options of `deploy/run`."""

import subprocess
from pathlib import Path

import pytest

from deploy.launch import options_parse


def test_options_default_to_demo_report_and_serving() -> None:
    options = options_parse([])
    assert (options.empty, options.report_only, options.data, options.port) == (
        False, False, None, 8000,
    )  # fmt: skip


def test_options_given_are_taken(tmp_path: Path) -> None:
    options = options_parse(["--empty", "--report-only", "--port", "0", "--data", str(tmp_path)])
    assert (options.empty, options.report_only, options.port) == (True, True, 0)
    assert options.data == str(tmp_path)


def test_data_folder_is_relative_to_where_it_was_called(tmp_path: Path) -> None:
    options = options_parse(["--called-from", str(tmp_path), "--data", "mine"])
    assert options.data == str(tmp_path / "mine")


@pytest.mark.parametrize("port", ["-1", "65536", "eighty"])
def test_port_impossible_is_refused(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        options_parse([f"--port={port}"])
    assert f"from 0 to 65535; got '{port}'" in capsys.readouterr().err


def test_help_is_shown_from_any_folder_without_installing(repo: Path, tmp_path: Path) -> None:
    done = subprocess.run(
        [str(repo / "deploy" / "run"), "--help"], cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0
    for option in ("--empty", "--report-only", "--data DIR", "--port N"):
        assert option in done.stdout
    assert "--called-from" not in done.stdout

"""The script that draws charts, taken out of the chart library."""

import subprocess
import sys
from pathlib import Path

from garage.pages.chart_bundle import chart_bundle_build

# In a process of its own: one forked after the library's first use would hang.
BUILD = """
import sys
from pathlib import Path
from garage.pages.chart_bundle import chart_bundle_build
print(chart_bundle_build(Path(sys.argv[1])))
"""


def build(target: Path, repo: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-c", BUILD, str(target)],
        cwd=repo,
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return done.stdout.strip()


def test_it_is_written_once_and_again_after_another_version(tmp_path: Path, repo: Path) -> None:
    target = tmp_path / "new" / "chart-library.js"
    assert build(target, repo) == "True"
    script = target.read_text()
    assert "window.vegaEmbed" in script
    assert chart_bundle_build(target) is False

    target.write_text("// an older version\n")
    assert build(target, repo) == "True"
    assert target.read_text() == script


def test_starting_the_service_does_not_load_the_library(repo: Path) -> None:
    seen = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys, garage.pages.chart_bundle; print('vl_convert' in sys.modules)",
        ],
        cwd=repo,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert seen.stdout.strip() == "False"

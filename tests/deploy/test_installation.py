"""The environment is made once, again when the pinned set changes, and failures say what to do."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from deploy import installation
from deploy.installation import CannotInstall, installation_ensure


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project whose pinned sets are empty, so that nothing is fetched."""
    requirements = tmp_path / "deploy" / "requirements"
    requirements.mkdir(parents=True)
    for name in ("run", "test"):
        (requirements / f"{name}.txt").write_text("# nothing\n")
    return tmp_path


@pytest.fixture
def pip_calls(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    calls: list[tuple[str, ...]] = []
    monkeypatch.setattr(installation, "_pip", lambda python, *arguments: calls.append(arguments))
    return calls


@pytest.fixture
def without_pip(monkeypatch: pytest.MonkeyPatch, pip_calls: list[tuple[str, ...]]) -> None:
    """An environment that is there already, so that only the pinned sets matter."""

    def make(folder: Path, python: Path) -> None:
        python.parent.mkdir(parents=True, exist_ok=True)
        if not python.exists():
            python.symlink_to(sys.executable)

    monkeypatch.setattr(installation, "_make_environment", make)


def test_installation_in_a_fresh_folder_works(project: Path) -> None:
    """The real thing, without anything to fetch."""
    python = installation_ensure(project, "run")
    version = subprocess.run(
        [str(python), "-m", "pip", "--version"], capture_output=True, text=True
    )
    assert str(project) in version.stdout


@pytest.mark.usefixtures("without_pip")
def test_installation_again_installs_nothing(
    project: Path, pip_calls: list[tuple[str, ...]]
) -> None:
    installation_ensure(project, "run")
    installation_ensure(project, "run")
    assert len(pip_calls) == 1
    assert "--require-hashes" in pip_calls[0]


@pytest.mark.usefixtures("without_pip")
def test_installation_after_the_pins_changed_installs_again(
    project: Path, pip_calls: list[tuple[str, ...]]
) -> None:
    installation_ensure(project, "run")
    (project / "deploy" / "requirements" / "run.txt").write_text("# nothing else\n")
    installation_ensure(project, "run")
    assert len(pip_calls) == 2


@pytest.mark.usefixtures("without_pip")
@pytest.mark.parametrize(
    ("order", "installs"),
    [(("test", "run"), 1), (("run", "test"), 2)],
    ids=["the test set covers the run set", "the run set does not cover the test set"],
)
def test_installation_of_both_sets(
    project: Path,
    pip_calls: list[tuple[str, ...]],
    order: tuple[installation.PinnedSet, ...],
    installs: int,
) -> None:
    for name in order:
        installation_ensure(project, name)
    assert len(pip_calls) == installs


@pytest.mark.usefixtures("without_pip")
def test_installation_that_failed_is_tried_again(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(python: Path, *arguments: str) -> None:
        raise CannotInstall("no index")

    installation_ensure(project, "run")
    (project / "deploy" / "requirements" / "run.txt").write_text("# more\n")
    monkeypatch.setattr(installation, "_pip", fail)
    for _ in range(2):
        with pytest.raises(CannotInstall):
            installation_ensure(project, "run")


def test_environment_whose_interpreter_is_gone_is_made_anew(
    project: Path, pip_calls: list[tuple[str, ...]]
) -> None:
    programs = project / ".venv" / "bin"
    programs.mkdir(parents=True)
    (programs / "python").symlink_to(project / "no-such-python")
    python = installation_ensure(project, "run")
    assert subprocess.run([str(python), "-c", ""]).returncode == 0


def test_venv_missing_says_what_to_install(project: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = project / "python3"
    broken.write_text("#!/bin/sh\necho 'ensurepip is not available'\nexit 1\n")
    broken.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(broken))
    with pytest.raises(CannotInstall, match=r"ensurepip is not available\n.*python3-venv"):
        installation_ensure(project, "run")


@pytest.mark.parametrize("command", ["run", "test"])
def test_python_too_old_says_which_is_needed(repo: Path, tmp_path: Path, command: str) -> None:
    old = tmp_path / "python3"
    old.write_text('#!/bin/sh\n[ "$1" = --version ] && echo "Python 3.9.2" && exit 0\nexit 1\n')
    old.chmod(0o755)
    dirname = shutil.which("dirname")
    assert dirname is not None
    (tmp_path / "dirname").symlink_to(dirname)
    done = subprocess.run(
        ["/bin/sh", str(repo / "deploy" / command)],
        env={"PATH": str(tmp_path)},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert "Python 3.11 or newer is needed; found Python 3.9.2" in done.stderr

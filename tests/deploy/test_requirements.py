"""The pinned sets: every file by its hash, no address to fetch it from, one version for both."""

import re
import tomllib
from pathlib import Path

import pytest

NAME_AND_VERSION = re.compile(r"^([a-z0-9][a-z0-9.-]*)(?:\[[a-z0-9,-]+\])?==(\S+)")


def pinned(repo: Path, name: str) -> dict[str, tuple[str, int]]:
    """Version and number of hashes of each package."""
    found: dict[str, tuple[str, int]] = {}
    text = (repo / "deploy" / "requirements" / f"{name}.txt").read_text()
    for entry in re.split(r"\n(?=\S)", text):
        match = NAME_AND_VERSION.match(entry)
        if match:
            hashes = len(re.findall(r"--hash=sha256:[0-9a-f]{64}\b", entry))
            found[match[1]] = (match[2], hashes)
        else:
            assert entry.startswith("#"), f"neither a package nor a comment: {entry[:80]!r}"
    return found


@pytest.mark.parametrize("name", ["run", "test"])
def test_every_package_has_a_hash(repo: Path, name: str) -> None:
    packages = pinned(repo, name)
    assert packages
    assert [package for package, (_, hashes) in packages.items() if hashes == 0] == []


@pytest.mark.parametrize("name", ["run", "test"])
def test_no_address_is_named(repo: Path, name: str) -> None:
    text = (repo / "deploy" / "requirements" / f"{name}.txt").read_text()
    assert re.findall(r"://|index-url|find-links|trusted-host| @ |file:", text) == []


def test_test_set_holds_the_run_set_at_the_same_versions(repo: Path) -> None:
    run, test = pinned(repo, "run"), pinned(repo, "test")
    assert {name: test.get(name) for name in run} == run


def test_everything_asked_for_is_pinned(repo: Path) -> None:
    project = tomllib.loads((repo / "pyproject.toml").read_text())
    asked = {
        "run": project["project"]["dependencies"],
        "test": project["dependency-groups"]["test"],
    }
    for name, requirements in asked.items():
        names = {re.split(r"[\[<>=; ]", requirement)[0].lower() for requirement in requirements}
        assert names - set(pinned(repo, name)) == set(), f"run deploy/pin for {name}"

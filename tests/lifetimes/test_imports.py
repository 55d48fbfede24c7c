"""The mathematics is cheap to import: every command of the register pays for it."""

import pkgutil
import subprocess
import sys

import pytest

import garage.lifetimes

MODULES = sorted(
    each.name
    for each in pkgutil.walk_packages(garage.lifetimes.__path__, f"{garage.lifetimes.__name__}.")
)
HEAVY = ("scipy.stats", "scipy.interpolate", "pandas", "django", "matplotlib")


def loaded_after(lines: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", f"{lines}\nimport sys; print(*sys.modules)"],
        check=True,
        capture_output=True,
        text=True,
    )
    return set(done.stdout.split())


def test_no_heavy_library_comes_along() -> None:
    loaded = loaded_after("\n".join(f"import {name}" for name in MODULES))
    assert set(MODULES) <= loaded
    assert [name for name in HEAVY if name in loaded] == []


@pytest.mark.parametrize("heavy", ["scipy.stats", "scipy.interpolate"])
def test_heavy_libraries_would_be_seen(heavy: str) -> None:
    assert heavy in loaded_after(f"import {heavy}")

"""Check values from outside, and ready-made tables for the tests of the mathematics."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from garage.lifetimes.risk_table import LivesArrays, RiskTable

Rows = list[dict[str, str]]


class CheckCase:
    """One case of the check values: its data, and its expected numbers by name."""

    def __init__(self, case: dict[str, Any]) -> None:
        self.data: dict[str, Any] = case["data"]
        self._expected = {each["name"]: each for each in case["expected"]}

    def expected(self, name: str) -> Any:
        """The full-precision number under this name."""
        return self._expected[name]["value"]

    def holds(self, name: str, measured: Any) -> None:
        """Compare with the full-precision number, and with the printed one where there is one."""
        expected = self._expected[name]
        wanted = np.asarray(expected["value"], float)
        got = np.asarray(measured, float)
        assert got.shape == wanted.shape, f"{name}: {got.shape} against {wanted.shape}"
        np.testing.assert_allclose(
            got, wanted, rtol=0, atol=max(expected["tolerance"], 1e-15), err_msg=name
        )
        if expected.get("published_agrees"):
            np.testing.assert_allclose(
                got,
                np.asarray(expected["published"], float),
                rtol=0,
                atol=expected["published_tolerance"],
                err_msg=f"{name}, as printed",
            )


@pytest.fixture(scope="session")
def check_case(shared: Path) -> Callable[[str], CheckCase]:
    """Give a case of the check values by its id."""
    listed = json.loads((shared / "checks" / "checks.json").read_text("utf-8"))["cases"]
    cases = {each["id"]: each for each in listed}
    return lambda number: CheckCase(cases[number])


@pytest.fixture(scope="session")
def check_rows(shared: Path) -> Callable[[str], Rows]:
    """Read a data file of the check values as dicts."""

    def read(name: str) -> Rows:
        with (shared / "checks" / "data" / name).open(encoding="utf-8", newline="") as lines:
            return list(csv.DictReader(lines))

    return read


def table_of(
    exit_: Any, cause: Any, entry: Any = None, weight: Any = None, causes: int = 1
) -> RiskTable:
    """A table on a clock without a unit worth naming."""
    lives = LivesArrays(np.zeros(len(exit_)) if entry is None else entry, exit_, cause, weight)
    return RiskTable.from_lives(
        lives, unit="steps", causes=[f"cause {number + 1}" for number in range(causes)]
    )

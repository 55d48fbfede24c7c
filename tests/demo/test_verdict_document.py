"""docs/verdicts.md states of the demo what is measured."""

import re
from pathlib import Path

import pytest

from tests.demo.verdicts import Score, judged, table_rows
from tests.demo.world import Found

pytestmark = pytest.mark.django_db


def _demo_column(text: str, table: str) -> dict[str, tuple[str, str]]:
    """Cause to the demo's cells: share with the laws' share, and number."""
    block = text.split(f"| {table} | demo")[1].split("\n\n")[0]
    rows = [line.strip("| ").split(" | ") for line in block.splitlines()[2:]]
    return {cells[0]: (cells[1], cells[2]) for cells in rows}


def _measured(score: Score, by_law: Score) -> dict[str, tuple[str, str]]:
    measured = {}
    for cause, n, right, law in table_rows(score, by_law):
        share = right if n == 0 else f"{right} ({law.removesuffix(' %')})"
        measured[cause] = share, str(n)
    return measured


def test_demo_columns_are_what_is_measured(found: Found, repo: Path) -> None:
    text = (repo / "docs" / "verdicts.md").read_text(encoding="utf-8")
    score = judged(found)
    assert _demo_column(text, "flagged") == _measured(score.flagged, score.flagged_by_law)
    assert _demo_column(text, "short") == _measured(score.short, score.short_by_law)
    assert re.search(rf"measure_verdicts {found.told['seed']}`", text)

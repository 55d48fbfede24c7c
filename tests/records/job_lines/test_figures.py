"""The classifier against the labelled lines, and the page that shows the figures."""

from pathlib import Path

import pytest

from tests.records.job_lines.measure import HALVES, figures_written, labelled, measure


def test_kept_apart_half_is_read_well() -> None:
    measured = measure("kept_apart")

    assert measured.precision >= 0.97
    assert measured.recall >= 0.90


def test_halves_are_large_and_share_no_line() -> None:
    tuning, apart = ({text for text, _ in labelled(half)} for half in HALVES)

    assert len(tuning) + len(apart) >= 640
    assert not tuning & apart


@pytest.mark.parametrize("half", HALVES)
def test_some_lines_of_each_status_and_question_are_labelled(half: str) -> None:
    labels = [each for _, expected in labelled(half) for each in expected]

    assert {each.status for each in labels} >= {
        *("done", "negated", "advised", "quoted", "ordered", "declined")
    }
    assert {each.ask for each in labels} >= {"place", "burn", "work", "removal"}


def test_page_shows_the_figures(repo: Path) -> None:
    page = (repo / "docs/job-lines.md").read_text(encoding="utf-8")

    assert figures_written(page) == page, (
        "run `python -m tests.records.job_lines.measure docs/job-lines.md`"
    )

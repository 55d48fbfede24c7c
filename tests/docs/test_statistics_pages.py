"""Every page of docs/statistics says what it must, and its example runs, prints and draws so."""

import os
from pathlib import Path

import pytest

from tests.conftest import REPO
from tests.docs.statistics_page import PARTS, StatisticsPage, alike, chart_of, picture_of

FOLDER = REPO / "docs" / "statistics"
PAGES = sorted(FOLDER.glob("*.md"))
RENEW = "run WRITE_DOCUMENTS=yes pytest tests/docs and look at the change"


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_page_has_its_parts(path: Path) -> None:
    page = StatisticsPage.read(path)
    assert page.headings == PARTS
    assert page.question
    assert page.picture == f"pictures/{page.name}.svg"


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_example_prints_and_draws_what_the_page_shows(path: Path) -> None:
    page = StatisticsPage.read(path)
    printed, chart = page.run()
    assert printed == page.printed
    picture = FOLDER / page.picture
    if os.environ.get("WRITE_DOCUMENTS") == "yes":
        picture.parent.mkdir(exist_ok=True)
        if not (picture.exists() and alike(chart_of(picture.read_text("utf-8")), chart)):
            picture.write_text(picture_of(chart, page.picture_says), "utf-8")
    assert alike(chart_of(picture.read_text("utf-8")), chart), RENEW


def test_overview_links_every_page() -> None:
    overview = (REPO / "docs" / "statistics.md").read_text("utf-8")
    assert [path.stem for path in PAGES if f"(statistics/{path.name})" not in overview] == []


def test_no_picture_is_left_over() -> None:
    drawn = {path.stem for path in (FOLDER / "pictures").iterdir()}
    assert drawn == {path.stem for path in PAGES}


def _chart(share: float) -> dict[str, object]:
    return {
        "data": {"values": [{"km": 1.0, "share": share}]},
        "mark": "point",
        "encoding": {"y": {"field": "share", "type": "quantitative"}},
    }


def test_picture_that_says_another_number_is_not_alike() -> None:
    svg = picture_of(_chart(0.5), "A point & a line < here")
    assert alike(chart_of(svg), _chart(0.5 + 1e-12))
    assert not alike(chart_of(svg), _chart(0.50001))


def test_page_without_its_printed_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "page.md"
    path.write_text("# A page\n\nWhat?\n\n## Example\n\n```python\nchart = {}\n```\n", "utf-8")
    with pytest.raises(ValueError, match="follow each other"):
        StatisticsPage.read(path)

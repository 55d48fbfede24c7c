"""The colours: one set in two places, and contrast enough to read by.

Contrast by the formula of WCAG 2.2 (relative luminance): text at least 4.5 (1.4.3), parts of
drawings at least 3 (1.4.11).
"""

import re
from dataclasses import asdict

import pytest

from garage.pages.apps import PagesConfig
from garage.pages.charts.palette import DARK, LIGHT, PAGE, Palette

TEXT, DRAWING = 4.5, 3.0


def style_sheet_colours(repo_text: str) -> list[dict[str, str]]:
    """Light and dark, as the style sheet says."""
    return [
        dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))
        for block in repo_text.split("@media")
    ]


@pytest.fixture
def light_and_dark(repo) -> list[dict[str, str]]:  # type: ignore[no-untyped-def]
    folder = repo.joinpath(*PagesConfig.name.split("."), "static", "pages")
    return style_sheet_colours((folder / "palette.css").read_text())


def luminance(colour: str) -> float:
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_what_the_standard_says_of_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize(("which", "palette"), [(0, LIGHT), (1, DARK)])
def test_charts_on_paper_have_the_pages_colours(
    light_and_dark: list[dict[str, str]], which: int, palette: Palette
) -> None:
    assert {name: light_and_dark[which][name] for name in asdict(palette)} == asdict(palette)


def test_a_page_takes_them_from_its_style_sheet() -> None:
    assert PAGE.watched == "var(--watched)"


@pytest.mark.parametrize("which", [0, 1])
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_text_can_be_read(light_and_dark: list[dict[str, str]], which: int, ground: str) -> None:
    colours = light_and_dark[which]
    for name in ("ink", "soft", "link", "failure", "caution"):
        assert contrast(colours[name], colours[ground]) >= TEXT, name
    assert contrast(colours["caution"], colours["caution-paper"]) >= TEXT
    assert contrast(colours["ink"], colours["caution-paper"]) >= TEXT
    assert contrast(colours["soft"], colours["caution-paper"]) >= TEXT


@pytest.mark.parametrize("which", [0, 1])
def test_marks_of_drawings_can_be_told_from_the_paper(
    light_and_dark: list[dict[str, str]], which: int
) -> None:
    colours = light_and_dark[which]
    for name in ("watched", "failure", "normal", "second", "third", "fourth"):
        assert contrast(colours[name], colours["paper"]) >= DRAWING, name

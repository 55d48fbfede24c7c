"""What every chart is made of, and the frame of its specification."""

from dataclasses import dataclass
from typing import Any, Literal

from garage.pages.charts.palette import Palette

Spec = dict[str, Any]
FONT = 'system-ui, "DejaVu Sans", sans-serif'


@dataclass(frozen=True)
class KeyItem:
    """One line of a chart's key: a swatch of its mark, and what it means."""

    kind: Literal["bar", "line", "band", "point", "cross", "tick"]
    colour: str
    label: str
    dash: str = ""
    shape: str = ""
    """An SVG path around (0, 0), for points."""
    border: str = ""
    width: float = 2.5
    """Of a line, in pixels."""


@dataclass(frozen=True)
class Table:
    """The numbers of a chart. The first column heads its row; the others stand to the right."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    worded: frozenset[int] = frozenset()
    """Columns that hold words, which stand to the left like the first."""


@dataclass(frozen=True)
class Chart:
    """A drawing and what says the same in words: `spec` is None where there is nothing to draw."""

    name: str
    title: str
    summary: str
    spec: Spec | None
    key: tuple[KeyItem, ...]
    tables: tuple[Table, ...]

    @property
    def spec_id(self) -> str:
        """Id of the element that holds the specification on a page."""
        return f"chart-{self.name}"


def framed(body: Spec, *, summary: str, palette: Palette) -> Spec:
    """A specification with our type and rules, as wide as its place on the page."""
    return {
        "description": summary,
        "width": "container",
        "autosize": {"type": "fit-x", "contains": "padding"},
        "background": None,
        "padding": {"left": 2, "right": 12, "top": 4, "bottom": 2},
        **body,
        "config": {
            "font": FONT,
            "aria": False,  # the page gives the chart one text alternative, and a table
            "view": {"stroke": None},
            "axis": {
                "labelColor": palette.ink,
                "labelFontSize": 13,
                "titleColor": palette.soft,
                "titleFontSize": 13,
                "titleFontWeight": "normal",
                "titlePadding": 8,
                "gridColor": palette.rule,
                "gridOpacity": 0.6,
                "domainColor": palette.soft,
                "tickColor": palette.soft,
            },
        },
    }

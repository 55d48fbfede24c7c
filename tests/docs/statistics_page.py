"""The reference page of one statistic: its parts, its example as it runs, and its picture."""

import contextlib
import io
import json
import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self
from xml.etree import ElementTree as ET

import vl_convert

PARTS = ("Formula", "Assumes", "Do not trust it when", "Example", "Source")
VEGA_LITE = "6.4"
METADATA = "{http://www.w3.org/2000/svg}metadata"
CONFIG = {
    "background": "white",
    "font": "sans-serif",
    "view": {"stroke": None},
    "mark": {"color": "#1b4f72"},
    "axis": {"gridColor": "#e6e6e6", "domainColor": "#888", "tickColor": "#888"},
    "range": {"category": ["#1b4f72", "#b9770e", "#6c3483", "#117864", "#922b21"]},
    # A band drawn under its line would otherwise lend the legend its pale fill.
    "legend": {"symbolOpacity": 1},
}
RELATIVE, ABSOLUTE = 1e-6, 1e-9
"""What two processors' arithmetic may make of one number in a picture."""


@dataclass(frozen=True)
class StatisticsPage:
    """A page of docs/statistics, cut into what the tests look at."""

    name: str
    headings: tuple[str, ...]
    question: str
    code: str
    printed: str
    picture: str
    picture_says: str

    @classmethod
    def read(cls, path: Path) -> Self:
        """Cut the page; ValueError says which part is missing."""
        text = path.read_text("utf-8")
        head, _, _ = text.partition("\n## ")
        example = _one(
            r"^```python\n(.*?)^```\n\s*^```text\n(.*?)^```\n\s*^!\[(.+?)\]\((\S+?)\)$",
            text,
            f"{path.name}: one python block, its text block and its picture follow each other",
        )
        return cls(
            name=path.stem,
            headings=tuple(re.findall(r"^## (.+)$", text, re.MULTILINE)),
            question=head.partition("\n")[2].strip(),
            code=example[1],
            printed=example[2],
            picture=example[4],
            picture_says=example[3],
        )

    def run(self) -> tuple[str, dict[str, Any]]:
        """Run the example; what it printed, and its `chart`."""
        namespace: dict[str, Any] = {"__name__": "__example__"}
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            exec(compile(self.code, f"docs/statistics/{self.name}.md", "exec"), namespace)
        chart = json.loads(json.dumps(namespace["chart"], allow_nan=False))
        return out.getvalue(), chart


def picture_of(chart: dict[str, Any], says: str) -> str:
    """The chart as SVG, which carries what it was drawn from."""
    svg = vl_convert.vegalite_to_svg({**chart, "config": CONFIG}, vl_version=VEGA_LITE)
    about = f"<title>{_plain(says)}</title><metadata>{_plain(json.dumps(chart))}</metadata>"
    return re.sub(r"(<svg[^>]*>)", lambda found: found[1] + about, svg, count=1) + "\n"


def chart_of(svg: str) -> Any:
    """What a picture was drawn from."""
    found = ET.fromstring(svg).find(METADATA)
    if found is None or found.text is None:
        raise ValueError("the picture does not say what it was drawn from; draw it again")
    return json.loads(found.text)


def alike(one: Any, other: Any) -> bool:
    """The same chart, but for the last digits of its numbers."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int | float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return bool(one == other)


def _one(pattern: str, text: str, rule: str) -> re.Match[str]:
    found = list(re.finditer(pattern, text, re.MULTILINE | re.DOTALL))
    if len(found) != 1 or text.count("```python") != 1:
        raise ValueError(f"{rule}; found {len(found)}, of {text.count('```python')} python blocks")
    return found[0]


def _plain(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")

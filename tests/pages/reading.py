"""Read a page as a person does: its text, its charts' specifications, its headings."""

import json
import re
from html.parser import HTMLParser
from typing import Any

from django.http import HttpResponse

#: What leaks out of a program that forgot to say "not known".
LEAKS = re.compile(r"\b(None|NaN|nan|inf|Infinity|undefined|True|False)\b")


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.scripts: dict[str, str] = {}
        self._hidden: str | None = None
        self._script = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "script":
            self._hidden = tag
            self._script = dict(attrs).get("id") or ""
        if tag in ("style", "title"):
            self._hidden = tag
        for name, value in attrs:
            if name in ("aria-label", "alt") and value:
                self.words.append(value)

    def handle_endtag(self, tag: str) -> None:
        if tag == self._hidden:
            self._hidden = None
            self._script = ""

    def handle_data(self, data: str) -> None:
        if self._hidden is None:
            self.words.append(data)
        elif self._script:
            self.scripts[self._script] = self.scripts.get(self._script, "") + data


def _read(answer: HttpResponse) -> _Reader:
    reader = _Reader()
    reader.feed(answer.content.decode())
    return reader


def text_of(answer: HttpResponse) -> str:
    """All that is shown or read out, blanks run together."""
    return " ".join(" ".join(_read(answer).words).split())


def specs_of(answer: HttpResponse) -> dict[str, Any]:
    """The charts' specifications by id; JSON that Python writes loosely is refused."""

    def refuse(constant: str) -> Any:
        raise AssertionError(f"{constant} in a chart's specification")

    return {
        name: json.loads(text, parse_constant=refuse)
        for name, text in _read(answer).scripts.items()
    }


def leaks_in(answer: HttpResponse) -> list[str]:
    return LEAKS.findall(text_of(answer))

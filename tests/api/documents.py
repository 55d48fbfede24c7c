"""The parts of docs/api.md and docs/json.md that are made from the code."""

import inspect
import json
import re
from collections.abc import Iterable, Iterator
from typing import Any

from drf_spectacular.renderers import OpenApiYamlRenderer
from rest_framework import serializers

from api.problems import FAULTS, PROBLEMS
from api.serializers.sections import ComebacksSection, EarlyFailuresSection, PartLifeSection
from tests.api.conformance import openapi_document

Answer = serializers.Serializer[Any]
SECTIONS = (PartLifeSection, ComebacksSection, EarlyFailuresSection)
#: Longer lists of an example are cut to this many members.
SHOWN_MEMBERS = 1
#: Ids and times differ from run to run.
VOLATILE = {"vehicle": 1, "fitment": 1, "made_at": "2026-01-02T03:04:05Z"}


def part(name: str) -> re.Pattern[str]:
    """Where a made part stands in a document."""
    name = re.escape(name)
    return re.compile(f"(?<=<!-- made: {name} -->\n).*?(?=<!-- end: {name} -->)", re.DOTALL)


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [list(head), ["---"] * len(list(head)), *map(list, rows)]
    return "".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |\n" for line in lines)


def openapi_yaml() -> str:
    return OpenApiYamlRenderer().render(openapi_document()).decode()


def problem_table() -> str:
    rows = ([f"`{kind.code}`", str(kind.status), kind.title, kind.detail] for kind in PROBLEMS)
    return table(("code", "status", "title", "what to do"), rows)


def fault_table() -> str:
    rows = ([f"`{kind.code}`", kind.meaning] for kind in FAULTS)
    return table(("code", "meaning"), rows)


def endpoint_table() -> str:
    rows = (
        [f"`{method.upper()} {path}`", operation["summary"], _parameters(operation)]
        for path, operations in openapi_document()["paths"].items()
        for method, operation in operations.items()
    )
    return table(("address", "what", "parameters"), rows)


def _parameters(operation: dict[str, Any]) -> str:
    asked = (each for each in operation.get("parameters", []) if each["in"] == "query")
    return ", ".join(f"`{each['name']}`" for each in asked)


def parameter_table() -> str:
    meanings = {
        each["name"]: each["description"]
        for operations in openapi_document()["paths"].values()
        for operation in operations.values()
        for each in operation.get("parameters", [])
        if each["in"] == "query"
    }
    return table(
        ("parameter", "meaning"), ([f"`{name}`", meanings[name]] for name in sorted(meanings))
    )


# --- the fields of the sections ---


def field_tables() -> str:
    """One table for each kind of object, in the order in which a reader meets them."""
    return "\n".join(
        f"### {_title(kind)}\n\n{_first_line(kind)}\n\n"
        + table(("field", "type", "meaning"), _field_rows(kind))
        for kind in _kinds(*SECTIONS)
    )


def _kinds(*sections: type[Answer]) -> list[type[Answer]]:
    found: dict[type[Answer], None] = dict.fromkeys(sections)
    waiting = list(sections)
    while waiting:
        for field in waiting.pop(0)().fields.values():
            nested = _nested(field)
            if nested is not None and nested not in found:
                found[nested] = None
                waiting.append(nested)
    return list(found)


def _nested(field: Any) -> type[Answer] | None:
    held = getattr(field, "child", field)
    return type(held) if isinstance(held, serializers.Serializer) else None


def _title(kind: type[Answer]) -> str:
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", re.sub(r"(Answer|Section)$", "", kind.__name__))
    return f"Answer of {words.lower()}" if kind in SECTIONS else words.capitalize()


def _first_line(kind: type[Answer]) -> str:
    for each in kind.__mro__:
        if each.__doc__ and each.__module__.startswith("api."):
            return inspect.cleandoc(each.__doc__).splitlines()[0]
    raise AssertionError(f"{kind.__name__} says nothing of itself")


def _field_rows(kind: type[Answer]) -> Iterator[list[str]]:
    for name, field in kind().fields.items():
        meaning = str(field.help_text)
        codes = getattr(getattr(field, "child", field), "choices", None)
        if codes:
            meaning += f" One of {', '.join(f'`{code}`' for code in codes)}."
        yield [f"`{name}`", _type(field), meaning]


def _type(field: Any) -> str:
    nested = _nested(field)
    if nested is not None:
        title = _title(nested)
        word = f"[{title.lower()}](#{title.lower().replace(' ', '-')})"
    else:
        word = _word(getattr(field, "child", field))
    if hasattr(field, "child"):
        word = f"list of {word}"
    return f"{word} or null" if field.allow_null else word


def _word(field: Any) -> str:
    for kinds, word in (
        (serializers.IntegerField, "whole number"),
        (serializers.FloatField, "number"),
        (serializers.BooleanField, "true or false"),
        (serializers.DateField, "date"),
        (serializers.ChoiceField, "code"),
        (serializers.CharField, "text"),
    ):
        if isinstance(field, kinds):
            return word
    raise AssertionError(f"no word for {field!r}")


# --- examples ---


def shown(value: Any) -> Any:
    """An answer as an example: lists cut, what differs from run to run replaced."""
    if isinstance(value, dict):
        return {
            # A verdict has a share of the name vehicle, a fraction.
            key: shown(each) if isinstance(each, float) else VOLATILE.get(key, shown(each))
            for key, each in value.items()
        }
    if isinstance(value, list):
        return [shown(each) for each in value[:SHOWN_MEMBERS]]
    return value


def example(answer: Any) -> str:
    return f"```json\n{json.dumps(shown(answer), indent=1, ensure_ascii=False)}\n```\n"


def example_read(text: str) -> Any:
    """None where it is not written yet."""
    inner = text.removeprefix("```json\n").removesuffix("```\n")
    return json.loads(inner) if inner else None

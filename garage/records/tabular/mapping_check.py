"""What is wrong with a stored mapping: every fault, in words."""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

from garage.records.errors import RuleBroken
from garage.records.importing.cells import cell_reader
from garage.records.importing.columns import FILE_KINDS, Column, FileKind, Form
from garage.records.tabular.dialect import DELIMITERS
from garage.records.tabular.line_column import columns_of
from garage.records.tabular.settle import SETTING_VALUES, Setting
from garage.records.tabular.values import coded_columns, codes_of

_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)
#: Constants may be dates; which of them lie ahead is found when rows are mapped.
_LATEST = date(9999, 1, 1)
_SHAPES: dict[str, type | tuple[type, ...]] = {
    "headers": list,
    "kinds": list,
    "values": dict,
    "rules": list,
    "sheet": str,
}


def mapping_faults(data: Any, version: int) -> list[str]:
    """All faults of a mapping as read from JSON; none if it can be loaded."""
    if not isinstance(data, dict):
        return ["a mapping is one JSON object; got another thing. Make it anew from a file."]
    if data.get("version") != version:
        got = data.get("version")
        return [f"a mapping has version {version}; got {got!r}. Make it anew from a file."]
    faults = [
        f"{name} is missing or of another form; got {type(data.get(name)).__name__}. Make the "
        "mapping anew from a file."
        for name, shape in _SHAPES.items()
        if name in data or name in ("headers", "kinds")
        if not isinstance(data.get(name), shape)
    ]
    if faults:
        return faults
    try:
        headers = frozenset(data["headers"])
        return [
            *_header_faults(data["headers"]),
            *_dialect_faults(data.get("dialect")),
            *_kinds_faults(data["kinds"], headers),
            *_value_faults(data.get("values", {}), headers),
            *_rule_faults(data.get("rules", []), headers),
        ]
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        return [f"a part of the mapping has another form; got {error!r}. Make it anew from a file."]


def _header_faults(headers: list[str]) -> Iterator[str]:
    if not headers:
        yield "a mapping names the columns of its table; got none. Make it anew from a file."
    for header, count in Counter(headers).items():
        if count > 1:
            yield f"a column of the table is named once; got {header!r} {count} times. Number them."


def _dialect_faults(dialect: dict[str, Any] | None) -> Iterator[str]:
    if dialect is None:
        return
    if set(dialect) != {"delimiter", "quote", "has_backslash"}:
        yield f"a dialect has delimiter, quote and has_backslash; got {sorted(dialect)}."
    elif dialect["delimiter"] not in DELIMITERS:
        yield f"cells are separated by one of , ; tab |; got {dialect['delimiter']!r}. Choose one."


def _kinds_faults(kinds: list[dict[str, Any]], headers: frozenset[str]) -> Iterator[str]:
    known = {kind.name: kind for kind in FILE_KINDS}
    if not kinds:
        yield "a mapping fills one kind of file at least; got none. Choose one."
    for name, count in Counter(kind["kind"] for kind in kinds).items():
        if name not in known:
            yield f"a kind is one of {', '.join(known)}; got {name!r}. Choose one of them."
        elif count > 1:
            yield f"a kind is filled once; got {name} {count} times. Join them."
    for each in kinds:
        if each["kind"] in known:
            yield from _kind_faults(known[each["kind"]], each["columns"], headers)


def _kind_faults(
    kind: FileKind, uses: list[dict[str, Any]], headers: frozenset[str]
) -> Iterator[str]:
    names = Counter(use["column"] for use in uses)
    columns = columns_of(kind)
    for name, count in names.items():
        if name not in columns:
            yield f"a {kind.name} file has no column {name!r}. Leave it out."
        elif count > 1:
            yield f"{kind.name}.{name} is filled once; got {count} times. Keep one."
    # A unit may come out of the cells, an operation out of a value map: seen when rows are mapped.
    for name in kind.required:
        if name not in names and name not in ("unit", "operation"):
            yield f"a {kind.name} file needs {name}; nothing fills it. Choose a column."
    for use in uses:
        column = columns.get(use["column"])
        if column is not None:
            yield from _use_faults(f"{kind.name}.{column.name}", column, use, headers)


def _use_faults(
    where: str, column: Column, use: dict[str, Any], headers: frozenset[str]
) -> Iterator[str]:
    sources, constant = use.get("sources", ()), use.get("constant")
    if bool(sources) == (constant is not None):
        yield f"{where} is filled by columns or by a constant, not by both or none. Keep one."
    for source in sources:
        if source not in headers:
            yield f"{where} is filled by a column of the table; got {source!r}. Choose one."
    if len(sources) > 1 and column.form not in (Form.TEXT, Form.POSITION):
        yield f"{where} takes one column, for only text is joined; got {len(sources)}. Keep one."
    if constant is not None:
        try:
            cell_reader(column, as_of=_LATEST.replace(year=9998))(constant)
        except RuleBroken as broken:
            yield f"{where} as a constant: {broken.rule}; got {constant!r}. {broken.do}"


def _value_faults(values: dict[str, Any], headers: frozenset[str]) -> Iterator[str]:
    coded = coded_columns()
    for source, map_ in values.items():
        if source not in headers:
            yield f"values are those of a column of the table; got {source!r}. Choose one."
        for value, meant in map_.items():
            for column, code in meant.items():
                codes = codes_of(column)
                if column not in coded:
                    yield f"a value means codes of {', '.join(sorted(coded))}; got {column!r}."
                elif codes and code not in codes:
                    yield (
                        f"{value!r} in {source!r} means for {column} one of {', '.join(codes)}; "
                        f"got {code!r}. Choose one."
                    )


def _rule_faults(rules: list[dict[str, Any]], headers: frozenset[str]) -> Iterator[str]:
    for rule in rules:
        setting, value = rule["setting"], rule["value"]
        if setting not in tuple(Setting):
            yield f"a rule sets one of {', '.join(Setting)}; got {setting!r}. Choose one."
        elif setting == Setting.CURRENCY:
            if not _CURRENCY.fullmatch(value):
                yield f"a currency is three capital letters; got {value!r}. Write for example EUR."
        elif value not in SETTING_VALUES[Setting(setting)]:
            allowed = ", ".join(SETTING_VALUES[Setting(setting)])
            yield f"a rule for {setting} says one of {allowed}; got {value!r}. Choose one."
        for source in (rule["source"], rule.get("when_source")):
            if source is not None and source not in headers:
                yield f"a rule is about a column of the table; got {source!r}. Choose one."
        if (rule.get("when_source") is None) != (rule.get("when_equals") is None):
            yield "a rule for some rows names a column and its value; got one of them. Give both."

"""The table of the JSON document's sections in docs/export.md, made from the models."""

import re

from garage.records.exporting.sections import SECTIONS, ExportField, organisation_fields

BEGIN = "<!-- sections: generated -->"
END = "<!-- end of sections -->"


def sections_as_markdown() -> str:
    """Every section with its fields, in the order of the document."""
    lines = ["| section | field | holds |", "| --- | --- | --- |"]
    lines += _rows("organisation", organisation_fields())
    for section in SECTIONS:
        lines += _rows(section.name, section.fields)
    return "\n".join(lines)


def tables_written(text: str) -> str:
    """The page with its table made anew."""
    table = f"{BEGIN}\n{sections_as_markdown()}\n{END}"
    pattern = re.compile(f"{re.escape(BEGIN)}.*?{re.escape(END)}", re.DOTALL)
    return pattern.sub(lambda _: table, text)


def _rows(name: str, fields: tuple[ExportField, ...]) -> list[str]:
    return [
        f"| {f'`{name}`' if number == 0 else ''} | `{field.name}` | {field.holds} |"
        for number, field in enumerate(fields)
    ]

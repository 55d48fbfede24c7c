"""Write the tables of columns in docs/import.md from the definitions.

python -m garage.records.importing.reference docs/import.md
"""

import re
import sys
from pathlib import Path

from garage.records.importing.columns import FILE_KINDS, Column, FileKind, Form

BEGIN = "<!-- columns of {}: generated -->"
END = "<!-- end of columns of {} -->"


def columns_as_markdown(kind: FileKind) -> str:
    """The columns of a file as a table."""
    lines = ["| column | needed | holds | meaning |", "| --- | --- | --- | --- |"]
    lines += [
        f"| `{column.name}` | {'yes' if column.required else ''} | {_holds(column)} "
        f"| {column.meaning} |"
        for column in kind.columns
    ]
    return "\n".join(lines)


def _holds(column: Column) -> str:
    if column.form is Form.CHOICE:
        return "one of " + ", ".join(f"`{value}`" for value in column.values)
    if column.max_length is not None:
        return f"{column.form.value}, at most {column.max_length} characters"
    return column.form.value


def tables_written(text: str) -> str:
    """The page with its tables made anew."""
    for kind in FILE_KINDS:
        begin, end = BEGIN.format(kind.name), END.format(kind.name)
        table = f"{begin}\n{columns_as_markdown(kind)}\n{end}"
        pattern = re.compile(f"{re.escape(begin)}.*?{re.escape(end)}", re.DOTALL)
        text = pattern.sub(lambda _: table, text)  # noqa: B023 - called at once
    return text


if __name__ == "__main__":
    page = Path(sys.argv[1])
    page.write_text(tables_written(page.read_text(encoding="utf-8")), encoding="utf-8")

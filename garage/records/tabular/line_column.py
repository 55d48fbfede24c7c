"""The column of free text that a mapping may fill beside those of our import files."""

from garage.records.importing.columns import JOBS, Column, FileKind, Form

JOB_LINE = Column("job_line", Form.TEXT, "A line of free text that tells what was done.")


def columns_of(kind: FileKind) -> dict[str, Column]:
    """What a mapping may fill of a kind: its columns, and a job line where rows are operations."""
    if kind is not JOBS:
        return kind.by_name
    columns: dict[str, Column] = {}
    for name, column in kind.by_name.items():
        columns[name] = column
        if name == "operation":
            columns[JOB_LINE.name] = JOB_LINE
    return columns

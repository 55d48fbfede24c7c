"""What came of a table that was imported, for its page."""

from dataclasses import dataclass
from typing import Any

from garage.records.importing.rows import Outcome
from garage.records.importing.summary import FileSummary
from garage.records.services.table_uploads import UploadImported


@dataclass(frozen=True)
class KindCame:
    """One kind of record: its rows by what became of them, what is new, and why rows failed."""

    name: str
    outcomes: tuple[tuple[str, int], ...]
    new: tuple[tuple[str, int], ...]
    notices: tuple[str, ...]
    faults: tuple[str, ...]
    rejected_rows: tuple[int, ...]


def imported_told(came: UploadImported) -> dict[str, Any]:
    """What the template needs."""
    imported = came.imported
    lines = imported.written.lines
    return {
        "kinds": [
            _kind(file, tuple(imported.rejected_rows.get(file.kind, ())))
            for file in imported.summary.files
        ],
        "held": came.held,
        "held_rows": imported.written.held.total(),
        "is_whole": imported.is_whole,
        "unread": len(lines.unread) if lines else 0,
        "left_out": sorted(lines.left_out.items()) if lines else [],
    }


def _kind(file: FileSummary, rejected_rows: tuple[int, ...]) -> KindCame:
    return KindCame(
        file.kind,
        tuple((outcome.value, file.outcomes[outcome]) for outcome in Outcome),
        tuple((name, number) for name, number in file.recorded.items() if number),
        tuple(file.notices),
        # The line is that of a file that nobody sees; its rows are told beside.
        tuple(each.split(" ", 2)[2] for each in file.told),
        rejected_rows,
    )

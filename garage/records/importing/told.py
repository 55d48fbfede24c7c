"""What came of an import, as plain values that are kept with its run and shown anywhere."""

from typing import Any

from garage.records.importing.rows import Outcome
from garage.records.importing.summary import FileSummary, ImportSummary

Told = dict[str, Any]


def import_told(summary: ImportSummary) -> Told:
    """Of our own files: each kind with its rows by outcome, what is new, and first faults."""
    return {
        "kinds": [_kind(file) for file in summary.files],
        "rows": sum(file.rows for file in summary.files),
        "is_whole": not summary.rejected,
        "held": [],
        "held_rows": 0,
        "unread": 0,
        "left_out": {},
    }


def cells_dropped(told: Told) -> Told:
    """The counts alone, without the cells of the files that faults and held rows repeat."""
    kinds = [kind | {"faults": [], "rejected_file": ""} for kind in told["kinds"]]
    return told | {"kinds": kinds, "held": []}


def _kind(file: FileSummary) -> Told:
    return {
        "kind": file.kind,
        "outcomes": {outcome.value: file.outcomes[outcome] for outcome in Outcome},
        "new": {name: number for name, number in file.recorded.items() if number},
        "notices": list(file.notices),
        "faults": list(file.told),
        "rejected_file": "" if file.rejected_path is None else file.rejected_path.name,
        "rejected_rows": [],
    }

"""Write the rows that could not be used to a file that can be corrected and imported."""

import csv
import os
import stat
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TextIO

from garage.records.importing.columns import FAULT_COLUMNS
from garage.records.importing.faults import Fault
from garage.records.importing.formulas import apostrophe_set
from garage.records.importing.reading import SourceFile
from garage.records.importing.rows import ReadRow

SUFFIX = ".rejected.csv"
#: Between the faults of one row, in the same order in each fault column.
BETWEEN_FAULTS = " | "


def rejected_path(source: Path, directory: Path | None) -> Path:
    """Where the rejected rows of a file go."""
    return (directory or source.parent) / f"{source.name}{SUFFIX}"


class RejectedFile:
    """The rejected rows of one run of one file; nothing is visible until `keep`.

    The fault columns come first, so that even a row with too few or too many cells stands there
    as it came.
    """

    def __init__(self, source: SourceFile, path: Path) -> None:
        self._source = source
        self.path = path
        self._is_fault_column = [name in FAULT_COLUMNS for name in source.columns]
        self._file: TextIO | None = None
        self._unfinished = path
        self._writer: Any = None

    def write(self, row: ReadRow) -> None:
        if self._file is None:
            self._begin()
        self._writer.writerow([*self._fault_cells(row), *self._original(row.raw.cells)])

    def keep(self, *, dry_run: bool) -> Path | None:
        """Put the file in its place, or remove one of an earlier run if nothing was rejected."""
        if self._file is None:
            if not dry_run and _is_ours(self.path):
                self.path.unlink()
            return None
        self._file.close()
        self._unfinished.replace(self.path)
        self._file = None
        return self.path

    def discard(self) -> None:
        """Leave everything as it was before the run; after `keep`, do nothing."""
        if self._file is not None:
            self._file.close()
            self._unfinished.unlink(missing_ok=True)
            self._file = None

    def _begin(self) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        # Beside its final place, for only within one file system is the last step all or nothing.
        handle, name = tempfile.mkstemp(prefix=f".{self.path.name}.", dir=self.path.parent)
        self._unfinished = Path(name)
        self._file = os.fdopen(
            handle,
            "w",
            encoding="utf-8-sig" if self._source.has_byte_order_mark else "utf-8",
            newline="",
        )
        # Whoever may read the source may read its rejected rows, and no one else.
        self._unfinished.chmod(stat.S_IMODE(self._source.path.stat().st_mode) | stat.S_IRUSR)
        self._writer = csv.writer(self._file)
        self._writer.writerow([*FAULT_COLUMNS, *self._original(list(self._source.columns))])

    def _original(self, cells: Sequence[str]) -> list[str]:
        known = len(self._is_fault_column)
        return [
            cell
            for index, cell in enumerate(cells)
            if index >= known or not self._is_fault_column[index]
        ]

    def _fault_cells(self, row: ReadRow) -> list[str]:
        def joined(texts: list[str]) -> str:
            return apostrophe_set(BETWEEN_FAULTS.join(texts))

        faults: list[Fault] = row.faults
        return [
            self._source.path.name,
            str(row.raw.line),
            joined([fault.column for fault in faults]),
            joined([fault.rule for fault in faults]),
            joined([fault.got for fault in faults]),
            joined([fault.do for fault in faults]),
        ]


def _is_ours(path: Path) -> bool:
    """Whether a file begins as the ones written here do, so that no other is ever removed."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            return file.readline(1_000).startswith(",".join(FAULT_COLUMNS) + ",")
    except OSError:
        return False

"""The files of the import form, written."""

import csv
from collections.abc import Callable, Iterator
from typing import TextIO

from garage.records.exporting.jobs import job_rows
from garage.records.exporting.tables import CellRow, cluster_rows, odometer_rows, vehicle_rows
from garage.records.importing.columns import (
    CLUSTERS,
    JOBS,
    ODOMETER,
    VEHICLES,
    WRITTEN_FORMS,
    FileKind,
)
from garage.records.importing.formulas import apostrophe_set
from garage.records.models import Organisation

#: Each file with its rows, in the order in which the import applies them.
FILES: tuple[tuple[FileKind, Callable[[Organisation], Iterator[CellRow]]], ...] = (
    (VEHICLES, vehicle_rows),
    (CLUSTERS, cluster_rows),
    (ODOMETER, odometer_rows),
    (JOBS, job_rows),
)


def csv_write(kind: FileKind, rows: Iterator[CellRow], out: TextIO) -> int:
    """Write the rows under all columns of their kind; how many there were.

    Lines end as RFC 4180 wants them, for only then are cells with either line end quoted.
    """
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(kind.by_name)
    columns = [(column.name, column.form in WRITTEN_FORMS) for column in kind.columns]
    count = 0
    for row in rows:
        get = row.get
        writer.writerow(
            [
                apostrophe_set(get(name, "")) if is_written else get(name, "")
                for name, is_written in columns
            ]
        )
        count += 1
    return count

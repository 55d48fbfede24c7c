"""Turns the published odometers and engine replacements of 166 city buses into import files.

J. Rust, *Econometrica* 55(5), 1987, 999-1033; the raw files are kept beside the project, with their
licence. Months have no days there. Readings and first visits are put on the first of their month,
replacements in its middle, last visits at its end; the day of first use is not known.
"""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

ENGINE = "engine"
CITY = "city"
_FIRST, _MIDDLE, _END = 1, 15, 28  # days of the month
Row = dict[str, str]


@dataclass(frozen=True)
class ImportFiles:
    """Files of one import; `odometer` only where all readings are wanted."""

    vehicles: Path
    jobs: Path
    odometer: Path | None

    @property
    def by_kind(self) -> Mapping[str, Path]:
        """As the import takes them."""
        files = {"vehicles": self.vehicles, "jobs": self.jobs}
        return files if self.odometer is None else {**files, "odometer": self.odometer}


def import_files_write(data: Path, folder: Path, *, all_readings: bool) -> ImportFiles:
    """Write the import files of the city's buses; the four that the paper leaves out stay out."""
    buses = [row for row in read_rows(data / "buses.csv") if row["group"]]
    known = {row["bus_id"] for row in buses}
    replacements = [row for row in read_rows(data / "replacements.csv") if row["bus_id"] in known]
    vehicles, jobs = folder / "vehicles.csv", folder / "jobs.csv"
    _write(vehicles, (_vehicle(bus) for bus in buses))
    _write(jobs, _jobs(buses, replacements))
    if not all_readings:
        return ImportFiles(vehicles, jobs, None)
    odometer = folder / "odometer.csv"
    readings = (row for row in read_rows(data / "readings.csv") if row["bus_id"] in known)
    _write(odometer, (_reading(row) for row in readings))
    return ImportFiles(vehicles, jobs, odometer)


def _vehicle(bus: Row) -> Row:
    return {
        "vehicle_ref": bus["bus_id"],
        "engine_family": f"bus group {bus['group']}",
    }


def _jobs(buses: list[Row], replacements: list[Row]) -> Iterable[Row]:
    """A look at the factory's engine at the first reading, each replacement, a last visit."""
    for bus in buses:
        number, first = bus["bus_id"], _day(bus["first_month"])
        looked = {"part_kind": ENGINE, "part_origin": "factory"}
        yield _job(number, "first", first, bus["first_odometer_miles"], looked | _PLANNED_LOOK)
        for row in replacements:
            if row["bus_id"] == number:
                yield _job(
                    number,
                    f"engine-{row['replacement_no']}",
                    _day(row["month"], _MIDDLE),
                    row["odometer_miles"],
                    _REPLACED,
                )
        last = _day(bus["last_month"], _END)
        yield _job(number, "last", last, bus["last_odometer_miles"], _PLANNED_VISIT)


_PLANNED_LOOK = {"planned": "yes", "system": "engine", "operation": "inspect"}
_PLANNED_VISIT = {"planned": "yes", "system": "service", "operation": "other"}
# Whether it failed or was replaced as a precaution is not recorded; the paper treats all alike.
_REPLACED = {
    "planned": "no",
    "system": "engine",
    "operation": "replace",
    "part_kind": ENGINE,
    "part_origin": "reconditioned",
    "removed_because": "failed",
}
_JOB_COLUMNS = (
    "job_ref",
    "vehicle_ref",
    "opened_on",
    "closed_on",
    "odometer",
    "unit",
    "planned",
    "system",
    "operation",
    "part_kind",
    "part_origin",
    "removed_because",
)


def _job(number: str, what: str, day: str, miles: str, row: Row) -> Row:
    given = {
        "job_ref": f"{number}-{what}",
        "vehicle_ref": number,
        "opened_on": day,
        "closed_on": day,
        "odometer": miles,
        "unit": "mi",
        **row,
    }
    return {column: given.get(column, "") for column in _JOB_COLUMNS}


def _reading(row: Row) -> Row:
    return {
        "vehicle_ref": row["bus_id"],
        "read_on": _day(row["month"]),
        "odometer": row["odometer_miles"],
        "unit": "mi",
        "source": "inspection",
    }


def _day(month: str, day: int = _FIRST) -> str:
    return f"{month}-{day:02}"


def read_rows(path: Path) -> list[Row]:
    """Rows of one of the source files."""
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def _write(path: Path, rows: Iterable[Row]) -> None:
    rows = list(rows)
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)

"""An organisation, and a way to import rows given as text."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from garage.records.importing.rows import Outcome
from garage.records.importing.summary import FileSummary, ImportSummary
from garage.records.models import Organisation
from garage.records.services.history_import import ImportRequest, history_import
from tests.records.factories import OrganisationFactory

AS_OF = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


@dataclass
class Importer:
    """Writes files into a folder and imports them for one organisation."""

    organisation: Organisation
    folder: Path

    def file(self, kind: str, text: str) -> Path:
        """A file from text; `|` stands for the comma, so that columns can be lined up."""
        rows = [[cell.strip() for cell in line.split("|")] for line in text.strip().splitlines()]
        path = self.folder / f"{kind}.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(rows)
        return path

    def request(self, as_of: date = AS_OF, **files: str | Path) -> ImportRequest:
        paths = {
            kind: given if isinstance(given, Path) else self.file(kind, given)
            for kind, given in files.items()
        }
        return ImportRequest(self.organisation.code, paths, as_of, NOW)

    def __call__(self, **files: str | Path) -> ImportSummary:
        return history_import(request=self.request(**files))

    def one(self, **files: str | Path) -> FileSummary:
        """The summary of the last file."""
        return self(**files).files[-1]


@pytest.fixture
def organisation(db: None) -> Organisation:
    return OrganisationFactory(code="alder", name="Workshop Alder")


@pytest.fixture
def importer(organisation: Organisation, tmp_path: Path) -> Importer:
    return Importer(organisation, tmp_path)


@pytest.fixture
def vehicle(importer: Importer) -> None:
    """V1 is recorded, with nothing more known of it."""
    importer(vehicles="vehicle_ref\nV1")


def counts(summary: FileSummary) -> tuple[int, int, int, int]:
    """Applied, already recorded, repeated in the file, rejected."""
    applied, unchanged, repeated, rejected = (summary.outcomes[outcome] for outcome in Outcome)
    return applied, unchanged, repeated, rejected


def faults(summary: FileSummary) -> list[tuple[str, str, str, str, str]]:
    """Line, column, rule, what came, what to do: as the file of rejected rows says it."""
    if summary.rejected_path is None:
        return []
    with summary.rejected_path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    names: Sequence[str] = ("fault_line", "fault_column", "fault_rule", "fault_got", "fault_do")
    return [tuple(row[name] for name in names) for row in rows]  # type: ignore[misc]

"""The published bus histories, imported by the register's own import."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from garage.outcomes.read_facts import newest_record_on
from garage.outcomes.report import Report, report_make
from garage.records.models import Organisation, PartKind
from garage.records.services.history_import import ImportRequest, history_import
from garage.records.services.organisations import organisation_add
from garage.records.services.part_kinds import NewPartKind, part_kind_add
from tests.real.bus_engines import CITY, ENGINE, import_files_write

NOW = datetime(2026, 1, 2, 8, 0, tzinfo=UTC)
BusImport = Callable[[bool], Report]
"""Imports the buses, with all readings or with the first and last alone, and reports."""


@pytest.fixture
def bus_import(db: None, shared: Path, tmp_path: Path) -> BusImport:
    """A city as a fleet that sees all repairs of its buses, with the engine as the part kind."""

    def run(all_readings: bool) -> Report:
        organisation_add(code=CITY, kind="fleet", sees_all_repairs=True)
        part_kind_add(new=NewPartKind(code=ENGINE, system="engine"), at=NOW)
        files = import_files_write(
            shared / "data" / "bus-engines", tmp_path, all_readings=all_readings
        )
        summary = history_import(
            request=ImportRequest(
                organisation_code=CITY, files=files.by_kind, as_of=date(1985, 12, 31), now=NOW
            )
        )
        assert summary.rejected == 0
        city = Organisation.objects.get(code=CITY)
        as_of = newest_record_on([city.pk])
        assert as_of == date(1985, 5, 28)
        return report_make(
            organisations=[city], part_kind=PartKind.objects.get(code=ENGINE), as_of=as_of
        )

    return run

"""Out and in again: the same statistics, and the same files when taken out once more."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixtures.demo import write_demo
from garage.outcomes.report import report_make
from garage.outcomes.wire import report_to_wire
from garage.records.exporting.cells import text_cell
from garage.records.exporting.files import csv_write
from garage.records.exporting.places import FolderPlace
from garage.records.importing.columns import FILE_KINDS, JOBS
from garage.records.importing.reading import source_open
from garage.records.importing.rows import RowReader
from garage.records.models import Fitment, Job, OdometerReading, Operation, Organisation, PartKind
from garage.records.services.demo import DEMO_AS_OF, demo_organisation_load
from garage.records.services.export import records_export
from garage.records.services.history_import import ImportRequest, history_import
from tests.records.exporting.odd import odd_make
from tests.records.factories import JobFactory, OdometerReadingFactory, OrganisationFactory

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
AS_OF = date(2026, 3, 2)


@dataclass(frozen=True)
class Trip:
    """An organisation, the one made of its files, and both their files."""

    first: Organisation
    second: Organisation
    first_files: dict[str, bytes]
    second_files: dict[str, bytes]
    rejected: int


def files_of(organisation: Organisation, folder: Path) -> dict[str, bytes]:
    records_export(organisation=organisation, place=FolderPlace(folder), with_document=False, at=AT)
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def travel(first: Organisation, folder: Path) -> Trip:
    first_files = files_of(first, folder / "first")
    second: Organisation = OrganisationFactory(
        code=f"{first.code}-again", name="again", sees_all_repairs=first.sees_all_repairs
    )
    paths = {kind.name: folder / "first" / f"{kind.name}.csv" for kind in FILE_KINDS}
    summary = history_import(request=ImportRequest(second.code, paths, AS_OF, AT))
    return Trip(first, second, first_files, files_of(second, folder / "second"), summary.rejected)


def told_of(organisation: Organisation, part_kind: str, as_of: date) -> Any:
    """The report without what names the organisation or counts rows of the database."""
    kind = PartKind.objects.get(code=part_kind)
    wire = report_to_wire(report_make(organisations=[organisation], part_kind=kind, as_of=as_of))
    return _nameless(wire, organisation.code)


def _nameless(value: Any, code: str) -> Any:
    if isinstance(value, dict):
        return {
            name: _nameless(each, code)
            for name, each in value.items()
            if name not in ("vehicle", "fitment")
        }
    if isinstance(value, list):
        return [_nameless(each, code) for each in value]
    return "the organisation" if value == code else value


def rows_of(organisation: Organisation) -> dict[str, list[tuple[Any, ...]]]:
    """What the register has made of the records, by the organisation's own names."""
    jobs = Job.objects.filter(organisation=organisation)
    operations = Operation.objects.filter(job__organisation=organisation)
    readings = OdometerReading.objects.filter(vehicle__organisation=organisation)
    fitments = Fitment.objects.filter(vehicle__organisation=organisation)

    def told(rows: Any, leave_out: set[str], *names: str) -> list[tuple[Any, ...]]:
        own = [
            column.name
            for column in rows.model._meta.concrete_fields
            if column.related_model is None and column.name not in {"id", *leave_out}
        ]
        return sorted(rows.values_list(*names, *own), key=repr)

    return {
        "jobs": told(jobs, set(), "vehicle__ref"),
        "operations": told(operations, {"line"}, "job__ref", "part_kind__code"),
        "readings": told(readings, {"explanations"}, "vehicle__ref", "job__ref"),
        "fitments": told(
            fitments, set(), "vehicle__ref", "part_kind", "fitted_at__ref", "removed_at__ref"
        ),
    }


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo")


@pytest.fixture
def demo(demo_folder: Path, db: None) -> Iterator[Organisation]:
    """A workshop of a small demo region, with replaced instruments."""
    files = write_demo(demo_folder, scale=0.3)
    own = next(each for each in files.organisations if each.clusters is not None)
    demo_organisation_load(files=own, now=AT)
    return Organisation.objects.get(code=own.code)


def test_demo_comes_back_with_the_same_statistics(demo: Organisation, tmp_path: Path) -> None:
    trip = travel(demo, tmp_path)
    assert trip.rejected == 0
    assert trip.first_files["jobs.csv"].count(b"\r\n") > 500
    assert trip.first_files == trip.second_files
    assert rows_of(trip.first) == rows_of(trip.second)
    first = told_of(trip.first, "particulate_filter", DEMO_AS_OF)
    assert first["account"]["fitments"] > 50
    assert first == told_of(trip.second, "particulate_filter", DEMO_AS_OF)


@pytest.mark.django_db
def test_every_odd_thing_comes_back(tmp_path: Path) -> None:
    trip = travel(odd_make(), tmp_path)
    assert trip.rejected == 0
    assert trip.first_files == trip.second_files
    assert rows_of(trip.first) == rows_of(trip.second)
    assert told_of(trip.first, "particulate_filter", AS_OF) == told_of(
        trip.second, "particulate_filter", AS_OF
    )


VAN_CELL = '"\'=cmd|""x"",y"'
GOLDEN = {
    "vehicles.csv": [
        '"VAN",0ABTEST0000000007,QX 77,Birch 20,2012-03-04,yes,town,,',
        "Lorry 1,,,,,,,2022-01-01,sold",
    ],
    "clusters.csv": ['"VAN",2019-05-06,80000.5,mi,"\'\'=paper, ""signed"""'],
    "odometer.csv": [
        '"VAN",2017-05-06,12,mi,inspection',
        "Lorry 1,2019-06-01,97000,km,keeper",
        "Lorry 1,2019-06-01,97000,km,inspection",
        "Lorry 1,2019-06-01,9,km,",
    ],
    "jobs.csv": [
        (
            '"J,1","VAN",2016-05-06,2016-05-06,50000.5,mi,,"no ""power"",\nsmoke",'
            "\"'+ soot\r\non the far side\",injection,'tis cylinder 2,exhaust_aftertreatment,"
            "replace,particulate_filter,bank 1,new_aftermarket,'@Quill,'=7+1,failed,same,air fuel,"
            "50000.19,P2002 P2463,120.5,640,0.05,EUR,''-1,"
        ),
        '"J,1","VAN",2016-05-06,,,,,,,,,exhaust_aftertreatment,clear_codes,,,,,,,,,,,,,,,,3',
        "L1,Lorry 1,2018-01-02,2018-01-02,90000,km,no,lamp on,,,,exhaust_aftertreatment,none"
        + "," * 16,
        'J3,"VAN",2021-05-06,,9000,mi,yes,,,,,exhaust_aftertreatment,none' + "," * 16,
    ],
}


@pytest.mark.django_db
def test_files_are_the_same_from_every_database(tmp_path: Path) -> None:
    files = files_of(odd_make(), tmp_path)
    for name, lines in GOLDEN.items():
        text = files[name].decode()
        for line in lines:
            wanted = line.replace('"VAN"', VAN_CELL)
            assert f"\r\n{wanted}\r\n" in text


@pytest.mark.django_db
def test_reading_of_another_day_than_its_job_keeps_its_day(tmp_path: Path) -> None:
    organisation = OrganisationFactory()
    job = JobFactory(vehicle__organisation=organisation, opened_on=date(2024, 5, 6))
    OdometerReadingFactory(
        vehicle=job.vehicle, job=job, read_on=date(2024, 5, 7), typed=5_000, source="job"
    )
    trip = travel(organisation, tmp_path)
    ref = job.vehicle.ref.encode()
    assert ref + b",2024-05-07,5000,km,job\r\n" in trip.first_files["odometer.csv"]
    assert b"5000" not in trip.first_files["jobs.csv"]
    assert trip.first_files == trip.second_files


@pytest.mark.django_db
def test_own_files_again_change_nothing(tmp_path: Path) -> None:
    organisation = odd_make()
    before = files_of(organisation, tmp_path)
    paths = {kind.name: tmp_path / f"{kind.name}.csv" for kind in FILE_KINDS}
    summary = history_import(request=ImportRequest(organisation.code, paths, AS_OF, AT))
    told = [{outcome.value: n for outcome, n in file.outcomes.items()} for file in summary.files]
    assert [set(each) for each in told] == [{"already recorded"}] * 4
    assert files_of(organisation, tmp_path / "again") == before


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_categories=["Cc"])), max_size=4))
def test_any_text_comes_back_through_a_file(tmp_path_factory, texts: list[str]) -> None:
    notes = [" ".join(text.split())[:400] for text in texts]
    check_notes(tmp_path_factory, notes)


@given(st.lists(st.text("'=+-@\"\n\r\t, x", max_size=8), max_size=4))
def test_awkward_text_comes_back_through_a_file(tmp_path_factory, texts: list[str]) -> None:
    check_notes(tmp_path_factory, [text.strip() for text in texts])


def check_notes(tmp_path_factory: pytest.TempPathFactory, notes: list[str]) -> None:
    rows = [{"job_ref": "J", "operation": "other", "note": text_cell(note)} for note in notes]
    out = io.StringIO(newline="")
    assert csv_write(JOBS, iter(rows), out) == len(notes)
    path = tmp_path_factory.mktemp("file") / "jobs.csv"
    path.write_bytes(out.getvalue().encode())
    chunks = RowReader(source_open(JOBS, path), as_of=AS_OF).chunks()
    read = [row for chunk in chunks for row in chunk]
    assert [row.faults for row in read] == [[]] * len(notes)
    assert [row.values.get("note", "") for row in read] == [text_cell(note) for note in notes]

"""A whole import: order, transactions, refused vehicles, dry run, counts that add up."""

import csv
import threading
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.db import IntegrityError, OperationalError, connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fixtures.demo import write_demo
from garage.background.models import QueuedWork
from garage.records.importing.columns import FILE_KINDS
from garage.records.importing.faults import ImportRefused
from garage.records.importing.jobs import JobsFile
from garage.records.models import (
    AuditEntry,
    ClusterReplacement,
    EngineFamily,
    Fitment,
    Job,
    OdometerReading,
    Operation,
    RegistrationMark,
    Vehicle,
)
from garage.records.services.history_import import SETTLING, ImportRequest, history_import
from tests.records.factories import OrganisationFactory, UserFactory
from tests.records.importing.conftest import AS_OF, NOW, Importer, counts, faults

VEHICLES = "vehicle_ref|watched_from_new|first_used_on\nV1|yes|2020-01-01\nV2||"
CLUSTERS = "vehicle_ref|done_on|offset|unit\nV1|2021-01-01|100|km\nV2|2021-01-01|100|km"
ODOMETER = (
    "vehicle_ref|read_on|odometer|unit|source\n"
    "V1|2022-01-01|900|km|keeper\nV2|2022-01-01|900|km|keeper"
)
JOBS_TEXT = (
    "job_ref|vehicle_ref|opened_on|system|operation\n"
    "J1|V1|2023-01-01|fuel|inspect\nJ2|V2|2023-01-01|fuel|inspect\nJ2||||adjust"
)
ALL = {"vehicles": VEHICLES, "clusters": CLUSTERS, "odometer": ODOMETER, "jobs": JOBS_TEXT}
TABLES = (
    Vehicle,
    RegistrationMark,
    EngineFamily,
    ClusterReplacement,
    OdometerReading,
    Job,
    Operation,
    Fitment,
)


def contents() -> dict[str, list[dict[str, object]]]:
    return {model.__name__: list(model.objects.order_by("pk").values()) for model in TABLES}


def test_files_are_applied_in_their_order_whatever_order_they_are_given_in(
    importer: Importer,
) -> None:
    summary = importer(**dict(reversed(ALL.items())))
    assert [file.kind for file in summary.files] == ["vehicles", "clusters", "odometer", "jobs"]
    assert summary.rejected == 0


def test_same_files_again_change_nothing(importer: Importer) -> None:
    importer(**ALL)
    before = contents()
    again = importer(**ALL)
    assert [counts(file) for file in again.files] == [(0, 2, 0, 0)] * 3 + [(0, 3, 0, 0)]
    assert contents() == before


def test_each_file_that_changed_something_leaves_a_row_in_the_audit_trail(
    importer: Importer,
) -> None:
    user = UserFactory()
    history_import(request=importer.request(**ALL), by=user)
    importer(**ALL)
    rows = AuditEntry.objects.order_by("serial").values_list("verb", "thing", "by_id", "changes")
    assert list(rows) == [
        ("import", f"{kind} file", user.pk, {"rows applied": [None, count]})
        for kind, count in (("vehicles", 2), ("clusters", 2), ("odometer", 2), ("jobs", 3))
    ]


def test_vehicle_watched_from_new_has_its_factory_parts(importer: Importer) -> None:
    importer(vehicles=VEHICLES)
    assert [fitment.vehicle.ref for fitment in Fitment.objects.all()] == ["V1"]


def test_refused_vehicle_takes_its_rows_with_it(importer: Importer) -> None:
    summary = importer(**ALL | {"vehicles": VEHICLES.replace("V2||", "V2|maybe|")})
    assert [counts(file) for file in summary.files] == [(1, 0, 0, 1)] * 3 + [(1, 0, 0, 2)]
    for file in summary.files[1:]:
        fault = faults(file)[0]
        assert fault[1:4] == (
            "vehicle_ref",
            "the vehicle of a row must not be refused itself",
            "V2, refused at vehicles.csv line 3",
        )


def test_refused_row_of_a_recorded_vehicle_takes_its_rows_with_it(importer: Importer) -> None:
    importer(**ALL)
    jobs = JOBS_TEXT + "\nJ1||||adjust\nJ2||||repair"
    summary = importer(vehicles="vehicle_ref|watched_from_new\nV1|no", jobs=jobs)
    # Also the row that names no vehicle: its job is recorded for the one refused.
    assert [fault[0] for fault in faults(summary.files[1])] == ["2", "5"]
    assert {fault[3] for fault in faults(summary.files[1])} == {
        "V1, refused at vehicles.csv line 2"
    }
    assert counts(summary.files[1]) == (1, 2, 0, 2)


def test_rejected_rows_of_a_refused_vehicle_are_imported_once_it_is_corrected(
    importer: Importer,
) -> None:
    importer(**ALL)
    expected = {name: len(rows) for name, rows in contents().items()}
    other = Importer(OrganisationFactory(), importer.folder)
    other(**ALL | {"vehicles": VEHICLES.replace("V2||", "V2|maybe|")})
    rejects = {kind: importer.folder / f"{kind}.csv.rejected.csv" for kind in ALL}
    vehicles = rejects["vehicles"]
    vehicles.write_text(vehicles.read_text().replace("maybe", ""), encoding="utf-8")
    assert other(**rejects).rejected == 0
    assert {name: len(rows) / 2 for name, rows in contents().items()} == expected


def test_dry_run_tells_the_same_and_records_nothing(importer: Importer) -> None:
    files = ALL | {"jobs": JOBS_TEXT + "\nJ3|V1|2023-01-01|fuel|weld"}
    dry = history_import(request=replace(importer.request(**files), dry_run=True))
    assert not any(contents().values())
    assert not QueuedWork.objects.exists()
    real = importer(**files)
    assert [counts(file) for file in dry.files] == [counts(file) for file in real.files]
    assert [file.recorded for file in dry.files] == [file.recorded for file in real.files]
    assert real.dry_run is False
    assert dry.dry_run is True


def test_dry_run_leaves_a_stale_file_of_rejected_rows(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|duty\nV1|bus")
    request = importer.request(vehicles="vehicle_ref|duty\nV1|taxi")
    history_import(request=replace(request, dry_run=True))
    assert (importer.folder / "vehicles.csv.rejected.csv").exists()


def test_change_asks_for_fresh_statistics_and_no_change_does_not(importer: Importer) -> None:
    importer(**ALL)
    work = QueuedWork.objects.get()
    assert (work.kind, work.arguments, work.queued_at) == (
        "outcomes.refresh",
        {"organisation": "alder"},
        NOW,
    )
    work.delete()
    importer(**ALL)
    assert not QueuedWork.objects.exists()


def test_file_of_wrong_form_stops_all_files_before_any_is_applied(importer: Importer) -> None:
    files = ALL | {
        "odometer": ODOMETER.replace("read_on", "day"),
        "jobs": JOBS_TEXT.replace("system", "colour"),
    }
    with pytest.raises(ImportRefused) as refused:
        importer(**files)
    assert len(refused.value.faults) == 3  # the unknown and the missing column, the other file's
    assert not any(contents().values())


def test_nothing_of_any_file_stays_where_writing_one_fails(
    importer: Importer, monkeypatch: pytest.MonkeyPatch
) -> None:
    applied: list[int] = []
    apply = JobsFile.apply

    def fail_later(self, rows):
        if applied:
            raise IntegrityError("written by another meanwhile")
        applied.append(len(rows))
        return apply(self, rows)

    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 2)
    monkeypatch.setattr(JobsFile, "apply", fail_later)
    before = contents()
    with pytest.raises(ImportRefused, match="Nothing was recorded; run the import again"):
        importer(**ALL)
    assert applied == [2]
    assert contents() == before


def test_busy_database_is_said_in_words(
    importer: Importer, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(self, rows):
        raise OperationalError("database is locked")

    monkeypatch.setattr(JobsFile, "apply", locked)
    importer(vehicles=VEHICLES)
    with pytest.raises(ImportRefused, match="run the import again"):
        importer(jobs=JOBS_TEXT)
    assert sorted(path.name for path in importer.folder.iterdir()) == ["jobs.csv", "vehicles.csv"]


def test_unknown_organisation_is_refused_and_told_how_to_add(importer: Importer) -> None:
    request = replace(importer.request(vehicles=VEHICLES), organisation_code="birch")
    with pytest.raises(ImportRefused, match=r"manage\.py add_organisation birch --kind"):
        history_import(request=request)


def test_import_without_files_is_refused(importer: Importer) -> None:
    with pytest.raises(ImportRefused, match="Name one with --vehicles, --clusters"):
        history_import(request=importer.request())


def test_log_carries_ids_only(importer: Importer, caplog: pytest.LogCaptureFixture) -> None:
    user = UserFactory(username="someone")
    with caplog.at_level("INFO", logger="garage.records"):
        history_import(request=importer.request(**ALL), by=user)
    assert f"organisation={importer.organisation.pk} by={user.pk}" in caplog.text
    for private in ("V1", "J1", "someone", "alder"):
        assert private not in caplog.text


def test_progress_is_told_every_row(importer: Importer) -> None:
    told: dict[str, list[int]] = {}

    @contextmanager
    def progress(name: str, rows: int):
        told[name] = [rows, 0]

        def advance(done: int) -> None:
            told[name][1] += done

        yield advance

    history_import(request=replace(importer.request(**ALL), progress=progress))
    assert told == {
        "vehicles": [2, 2],
        "clusters": [2, 2],
        "odometer": [2, 2],
        "jobs": [3, 3],
        SETTLING: [2, 2],
    }


# --- whatever comes ---

_CELLS = {
    column.name: st.one_of(
        st.just(""),
        st.sampled_from(column.values or ("V1", "J1", "J2", "5", "2024-01-01", "yes", "EUR", "km")),
        st.text(max_size=12),
    )
    for kind in FILE_KINDS
    for column in kind.columns
}


@given(data=st.data())
@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_whatever_comes_counts_add_up_and_no_row_is_lost(importer: Importer, data) -> None:
    files = {}
    for kind in FILE_KINDS:
        cells = st.fixed_dictionaries({name: _CELLS[name] for name in kind.by_name})
        rows = data.draw(st.lists(cells, max_size=6), label=kind.name)
        files[kind.name] = path = importer.folder / f"{kind.name}.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.DictWriter(stream, kind.by_name)
            writer.writeheader()
            writer.writerows(rows)
    summary = history_import(request=importer.request(**files))
    for file in summary.files:
        with file.path.open(encoding="utf-8", newline="") as stream:
            given_rows = [row for row in csv.reader(stream) if any(cell.strip() for cell in row)]
        assert file.rows == sum(counts(file)) == len(given_rows) - 1
        assert len(faults(file)) == counts(file)[3]
        assert all(all(fault[2:]) for fault in faults(file))
    Vehicle.objects.all().delete()


_JOB_ROWS = st.lists(
    st.tuples(
        st.sampled_from(["J1", "J2", "J3"]),
        st.sampled_from(["", "full"]),
        st.sampled_from(["inspect", "replace", "clean_off_vehicle"]),
        st.sampled_from(["", "particulate_filter", "clamp"]),
        st.sampled_from(["", "bank 1"]),
        st.sampled_from(["", "failed"]),
        st.sampled_from(["", "a note"]),
    ),
    max_size=12,
)


@given(rows=_JOB_ROWS, again=_JOB_ROWS)
@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_any_file_of_jobs_again_changes_nothing(
    importer: Importer, monkeypatch: pytest.MonkeyPatch, rows, again
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 3)
    importer(vehicles="vehicle_ref\nV1")

    def text(rows) -> str:
        lines = ["job_ref|vehicle_ref|opened_on|closed_on|system|operation|part_kind|position|"]
        lines[0] += "removed_because|note"
        for ref, closed, operation, part, position, because, note in rows:
            because = because if operation != "inspect" else ""
            closed_on = "2024-05-08" if closed else ""
            cells = [ref, "V1", "2024-05-06", closed_on, "fuel", operation, part, position]
            lines.append("|".join([*cells, because, note]))
        return "\n".join(lines)

    for file in (text(rows), text(rows + again)):
        first = importer.one(jobs=file)
        before = contents()
        second = importer.one(jobs=file)
        assert contents() == before
        applied, unchanged, repeated, rejected = counts(first)
        assert counts(second) == (0, applied + unchanged + repeated, 0, rejected)
    Vehicle.objects.all().delete()


@given(content=st.binary(max_size=200))
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_read_or_refused(importer: Importer, content: bytes) -> None:
    path = importer.folder / "jobs.csv"
    path.write_bytes(b"job_ref,operation\n" + content)
    try:
        summary = importer.one(jobs=path)
    except ImportRefused as refused:
        assert str(refused)  # noqa: PT017 - either end is right
    else:
        assert summary.rows == counts(summary)[3]


# --- two at once ---


@pytest.mark.django_db(transaction=True)
def test_two_imports_at_once_record_everything_once(tmp_path: Path) -> None:
    organisation = OrganisationFactory()
    importer = Importer(organisation, tmp_path)
    rows = "\n".join(f"J{n}|V{n % 7}|2023-01-01|fuel|inspect|{n}|km" for n in range(300))
    files = {
        "vehicles": "vehicle_ref|engine_family\n" + "\n".join(f"V{n}|Rowan 18" for n in range(7)),
        "jobs": f"job_ref|vehicle_ref|opened_on|system|operation|odometer|unit\n{rows}",
    }
    request = importer.request(**files)
    barrier = threading.Barrier(2)
    applied: list[tuple[int, ...]] = []

    def run() -> None:
        try:
            barrier.wait(timeout=30)
            summary = history_import(request=request)
            applied.append(tuple(counts(file)[0] for file in summary.files))
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len(applied) == 2
    assert [sum(pair) for pair in zip(*applied, strict=True)] == [7, 300]
    assert (Vehicle.objects.count(), Job.objects.count()) == (7, 300)
    assert Operation.objects.count() == OdometerReading.objects.count() == 300
    assert EngineFamily.objects.count() == 1


# --- the demo ---


def test_demo_is_imported_whole_and_a_second_time_changes_nothing(db: None, tmp_path: Path) -> None:
    demo = write_demo(tmp_path, scale=0.1)
    for files in demo.organisations:
        organisation = OrganisationFactory(code=files.code, kind=files.kind)
        given_files = {
            "vehicles": files.vehicles,
            "odometer": files.odometer,
            "jobs": files.jobs,
            "clusters": files.clusters,
        }
        request = ImportRequest(
            organisation.code,
            {kind: path for kind, path in given_files.items() if path is not None},
            AS_OF,
            datetime(2026, 11, 25, tzinfo=UTC),
        )
        first = history_import(request=request)
        assert first.rejected == 0
        assert all(file.outcomes.total() == counts(file)[0] for file in first.files)
        before = contents()
        again = history_import(request=request)
        assert all(file.outcomes.total() == counts(file)[1] for file in again.files)
        assert contents() == before

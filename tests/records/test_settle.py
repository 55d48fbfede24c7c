"""Settling vehicles in the database: what holds is kept, and what follows is derived anew."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from garage.records.choices import Doubt, OperationKind, ReadingSource, RemovedBecause
from garage.records.models import Fitment, Job, OdometerReading, PartKind, Vehicle
from garage.records.services import settle
from garage.records.services.settle import vehicles_settle
from tests.records.factories import (
    ClusterReplacementFactory,
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    PartKindFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

FIRST_USE = date(2016, 3, 1)


@pytest.fixture
def vehicle() -> Vehicle:
    return VehicleFactory(first_used_on=FIRST_USE, watched_from_new=True)


def job_add(
    vehicle: Vehicle, year: int, kind: str = "replace", *, km: int | None = -1, **said: object
) -> Job:
    """A job `year` years after first use, read at 20 000 km a year unless `km` says otherwise."""
    job = JobFactory(vehicle=vehicle, opened_on=FIRST_USE.replace(year=FIRST_USE.year + year))
    if km is not None:
        OdometerReadingFactory(
            vehicle=vehicle,
            job=job,
            read_on=job.opened_on,
            typed=Decimal(20_000 * year if km == -1 else km),
            source=ReadingSource.JOB,
        )
    part_kind = said.pop("part_kind", None) or PartKind.objects.get(code="particulate_filter")
    if kind in (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE):
        said.setdefault("removed_because", RemovedBecause.FAILED)
    OperationFactory(job=job, kind=kind, part_kind=part_kind, **said)
    return job


def settled(*vehicles: Vehicle) -> list[Fitment]:
    """The fitments of these vehicles after settling, in the order of their beginning."""
    vehicles_settle(vehicle_ids=[vehicle.pk for vehicle in vehicles])
    fitments = Fitment.objects.filter(vehicle__in=vehicles)
    return sorted(fitments, key=lambda f: (f.fitted_on or date.min, f.pk))


def rows() -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    return (
        list(Fitment.objects.order_by("pk").values()),
        list(OdometerReading.objects.order_by("pk").values()),
    )


def chain(fitments: list[Fitment]) -> list[tuple[int | None, int | None]]:
    return [(fitment.fitted_km, fitment.removed_km) for fitment in fitments]


# --- settling again ---


def test_settling_again_changes_nothing(vehicle: Vehicle) -> None:
    job_add(vehicle, 2)
    job_add(vehicle, 3, "clean_off_vehicle")
    job_add(vehicle, 4, "inspect", found_in_place="same")
    job_add(vehicle, 5, "inspect", found_in_place="another")
    job_add(vehicle, 6, km=7)
    settled(vehicle)
    before = rows()
    assert len(before[0]) == 5
    settled(vehicle)
    assert rows() == before


def test_settling_again_writes_no_fitment_and_no_reading(vehicle: Vehicle) -> None:
    job_add(vehicle, 2)
    job_add(vehicle, 3, "clean_off_vehicle")

    def writes() -> list[str]:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            vehicles_settle(vehicle_ids=[vehicle.pk])
        return [
            query["sql"]
            for query in captured
            if any(verb in query["sql"] for verb in ("INSERT", "UPDATE", "DELETE"))
            and ("records_fitment" in query["sql"] or "records_odometer" in query["sql"])
        ]

    writes()
    before = rows()
    assert len(before[0]) == 3
    assert writes() == []
    assert rows() == before


def test_only_the_vehicles_named_are_touched(vehicle: Vehicle) -> None:
    other = VehicleFactory(first_used_on=FIRST_USE, watched_from_new=True)
    for each in (vehicle, other):
        job_add(each, 2)
    settled(vehicle)
    assert Fitment.objects.filter(vehicle=vehicle).count() == 2
    assert not Fitment.objects.filter(vehicle=other).exists()


def test_a_version_of_the_owners_records_is_counted_up(vehicle: Vehicle) -> None:
    other = VehicleFactory()
    settled(vehicle)
    vehicle.organisation.refresh_from_db()
    other.organisation.refresh_from_db()
    assert (vehicle.organisation.records_version, other.organisation.records_version) == (1, 0)


# --- facts that arrive late ---


def test_a_late_older_job_divides_the_life_it_falls_into(vehicle: Vehicle) -> None:
    job_add(vehicle, 4)
    factory, fitted = settled(vehicle)
    assert chain([factory, fitted]) == [(0, 80_000), (80_000, None)]
    job_add(vehicle, 2)
    first, late, last = settled(vehicle)
    assert chain([first, late, last]) == [(0, 40_000), (40_000, 80_000), (80_000, None)]
    # The rows that still tell of the same part are the same rows.
    assert (first.pk, last.pk) == (factory.pk, fitted.pk)


def test_a_late_newer_job_ends_the_open_life(vehicle: Vehicle) -> None:
    job_add(vehicle, 2)
    open_before = settled(vehicle)[1]
    job_add(vehicle, 4)
    fitments = settled(vehicle)
    assert chain(fitments) == [(0, 40_000), (40_000, 80_000), (80_000, None)]
    assert fitments[1].pk == open_before.pk


def test_the_open_fitment_may_move_from_row_to_row(vehicle: Vehicle) -> None:
    early, late = job_add(vehicle, 2), job_add(vehicle, 4)
    before = settled(vehicle)
    assert [fitment.removed_at_id for fitment in before] == [early.pk, late.pk, None]
    # The jobs change places: the row that was open closes, and one that was closed opens.
    early.opened_on, late.opened_on = late.opened_on, early.opened_on
    for job in (early, late):
        job.save()
        job.reading.read_on = job.opened_on
        job.reading.typed = Decimal(20_000 * (job.opened_on.year - FIRST_USE.year))
        job.reading.save()
    after = settled(vehicle)
    assert [fitment.removed_at_id for fitment in after] == [late.pk, early.pk, None]
    assert chain(after) == chain(before)
    assert {fitment.pk for fitment in after} == {fitment.pk for fitment in before}


def test_links_of_cleaned_parts_follow_jobs_that_change_places(vehicle: Vehicle) -> None:
    jobs = [job_add(vehicle, year, "clean_off_vehicle") for year in (2, 3, 4)]
    before = settled(vehicle)
    assert [fitment.cleaned_from_id for fitment in before] == [
        None,
        *(fitment.pk for fitment in before[:3]),
    ]
    for job, year in zip(jobs, (3, 2, 4), strict=True):
        job.opened_on = FIRST_USE.replace(year=FIRST_USE.year + year)
        job.save()
        job.reading.read_on = job.opened_on
        job.reading.typed = Decimal(20_000 * year)
        job.reading.save()
    after = settled(vehicle)
    assert [fitment.fitted_at_id for fitment in after] == [
        None,
        jobs[1].pk,
        jobs[0].pk,
        jobs[2].pk,
    ]
    assert [fitment.cleaned_from_id for fitment in after] == [
        None,
        *(fitment.pk for fitment in after[:3]),
    ]


def test_a_job_that_goes_takes_its_fitments_along(vehicle: Vehicle) -> None:
    job_add(vehicle, 2)
    job = job_add(vehicle, 4)
    assert len(settled(vehicle)) == 3
    job.delete()
    assert chain(settled(vehicle)) == [(0, 40_000), (40_000, None)]


def test_watched_from_new_learnt_later_gives_the_factory_part(vehicle: Vehicle) -> None:
    Vehicle.objects.filter(pk=vehicle.pk).update(watched_from_new=None)
    job_add(vehicle, 4)
    unknown, fitted = settled(vehicle)
    assert (unknown.start, unknown.fitted_km) == ("unknown", None)
    Vehicle.objects.filter(pk=vehicle.pk).update(watched_from_new=True)
    factory, still_fitted = settled(vehicle)
    assert (factory.start, factory.fitted_km, factory.removed_km) == ("factory", 0, 80_000)
    assert still_fitted.pk == fitted.pk
    assert not Fitment.objects.filter(pk=unknown.pk).exists()


@pytest.mark.parametrize("watched", [None, False])
def test_no_factory_part_unless_watched_from_new(vehicle: Vehicle, watched: bool | None) -> None:
    assert [fitment.start for fitment in settled(vehicle)] == ["factory"]
    Vehicle.objects.filter(pk=vehicle.pk).update(watched_from_new=watched)
    assert settled(vehicle) == []


def test_no_factory_part_of_a_kind_not_fitted_from_new(vehicle: Vehicle) -> None:
    PartKindFactory(code="supercharger", fitted_from_new=False)
    injector = PartKindFactory(code="fuel_pump", fitted_from_new=True)
    assert {fitment.part_kind_id for fitment in settled(vehicle)} == {
        injector.pk,
        PartKind.objects.get(code="particulate_filter").pk,
    }


def test_a_part_outside_the_catalogue_has_no_fitment(vehicle: Vehicle) -> None:
    job = JobFactory(vehicle=vehicle)
    OperationFactory(job=job, kind=OperationKind.REPLACE, part_kind=None, part_named="mirror")
    assert [fitment.start for fitment in settled(vehicle)] == ["factory"]


def test_two_jobs_of_one_day_are_told_in_the_order_of_their_readings(vehicle: Vehicle) -> None:
    later = job_add(vehicle, 4, km=80_100)
    earlier = job_add(vehicle, 4, km=80_000)
    fitments = {fitment.fitted_at_id: fitment for fitment in settled(vehicle)}
    assert fitments[None].removed_at_id == earlier.pk
    assert fitments[earlier.pk].removed_at_id == later.pk
    assert fitments[later.pk].removed_at_id is None


# --- odometers ---


def test_a_reading_in_doubt_takes_its_km_away_and_resolved_brings_it_back(
    vehicle: Vehicle,
) -> None:
    job_add(vehicle, 1, "inspect")
    wrong = job_add(vehicle, 2, km=400_000)
    job_add(vehicle, 3)
    job_add(vehicle, 4, "inspect")
    before = settled(vehicle)
    wrong.reading.refresh_from_db()
    assert wrong.reading.doubt == Doubt.TENTHS
    assert wrong.reading.doubt_reason
    assert wrong.reading.explanations[0]["km"] == 40_000
    assert chain(before) == [(0, None), (None, 60_000), (60_000, None)]
    assert [fitment.fitted_on for fitment in before][1] == wrong.opened_on
    wrong.reading.typed = Decimal(40_000)
    wrong.reading.save()
    after = settled(vehicle)
    wrong.reading.refresh_from_db()
    assert (wrong.reading.doubt, wrong.reading.doubt_reason) == ("", "")
    assert wrong.reading.explanations == []
    assert chain(after) == [(0, 40_000), (40_000, 60_000), (60_000, None)]
    assert [fitment.pk for fitment in after] == [fitment.pk for fitment in before]


def test_more_readings_settle_which_of_two_was_wrong(vehicle: Vehicle) -> None:
    high = job_add(vehicle, 2, km=90_000)
    low = job_add(vehicle, 3, km=60_000)
    settled(vehicle)
    high.reading.refresh_from_db()
    low.reading.refresh_from_db()
    assert {high.reading.doubt, low.reading.doubt} == {Doubt.ONE_OF_SEVERAL}
    as_read = [each for each in high.reading.explanations if each["kind"] == "as_read"]
    assert [each["readings"] for each in as_read] == [[low.reading.pk]]
    for year, km in ((2017, 20_000), (2020, 80_000), (2021, 100_000)):
        OdometerReadingFactory(vehicle=vehicle, read_on=date(year, 3, 1), typed=Decimal(km))
    settled(vehicle)
    high.reading.refresh_from_db()
    low.reading.refresh_from_db()
    assert (high.reading.doubt != "", low.reading.doubt) == (True, "")


def test_a_replaced_cluster_adds_its_offset_from_that_day_on(vehicle: Vehicle) -> None:
    job_add(vehicle, 2)
    after = job_add(vehicle, 4, km=5_000, last_sound_km=3_000)
    replaced_on = after.opened_on - timedelta(days=90)
    fitments = settled(vehicle)
    after.reading.refresh_from_db()
    assert after.reading.doubt != ""
    assert Doubt.CLUSTER_REPLACED in [each["kind"] for each in after.reading.explanations]
    assert chain(fitments) == [(0, 40_000), (40_000, None), (None, None)]
    replacement = ClusterReplacementFactory(
        vehicle=vehicle, done_on=replaced_on, typed_offset=Decimal(75_000)
    )
    fitments = settled(vehicle)
    after.reading.refresh_from_db()
    assert (after.reading.km, after.reading.typed) == (80_000, Decimal(5_000))
    assert after.reading.doubt == ""
    assert chain(fitments) == [(0, 40_000), (40_000, 80_000), (80_000, None)]
    # The last sound distance was read from the instrument of the job's day too.
    assert fitments[1].last_sound_km == 78_000
    # Gone again, all is as before.
    replacement.delete()
    assert chain(settled(vehicle)) == [(0, 40_000), (40_000, None), (None, None)]


def test_offsets_hold_from_their_own_day_until_the_next(vehicle: Vehicle) -> None:
    for month, offset in ((6, 60_000), (9, 70_000)):
        ClusterReplacementFactory(
            vehicle=vehicle, done_on=date(2020, month, 10), typed_offset=Decimal(offset)
        )
    days = [date(2020, 6, 9), date(2020, 6, 10), date(2020, 9, 9), date(2020, 9, 10)]
    shown = [59_000, 100, 9_000, 300]
    for day, typed in zip(days, shown, strict=True):
        OdometerReadingFactory(vehicle=vehicle, read_on=day, typed=Decimal(typed))
    settled(vehicle)
    readings = OdometerReading.objects.filter(vehicle=vehicle).order_by("read_on")
    assert [reading.km for reading in readings] == [59_000, 60_100, 69_000, 70_300]
    assert {reading.doubt for reading in readings} == {""}


def test_a_replaced_cluster_of_another_vehicle_adds_nothing(vehicle: Vehicle) -> None:
    ClusterReplacementFactory(done_on=FIRST_USE)
    job = job_add(vehicle, 2)
    settled(vehicle)
    job.reading.refresh_from_db()
    assert job.reading.km == 40_000


def test_miles_are_settled_in_km(vehicle: Vehicle) -> None:
    job = job_add(vehicle, 2)
    OdometerReading.objects.filter(job=job).update(typed=Decimal(25_000), unit="mi", km=0)
    fitments = settled(vehicle)
    assert fitments[0].removed_km == 40_234  # 25 000 miles are 40 233.6 km


# --- cost ---


def _queries(count: int) -> list[str]:
    vehicles = VehicleFactory.create_batch(count, first_used_on=FIRST_USE, watched_from_new=True)
    for vehicle in vehicles:
        job_add(vehicle, 2)
        job_add(vehicle, 3, "clean_off_vehicle")
    with CaptureQueriesContext(connection) as captured:
        vehicles_settle(vehicle_ids=[vehicle.pk for vehicle in vehicles])
    return [query["sql"] for query in captured]


def test_queries_do_not_grow_with_the_vehicles() -> None:
    few, many = _queries(3), _queries(30)
    reads_few, reads_many = (
        [sql for sql in queries if sql.startswith("SELECT")] for queries in (few, many)
    )
    assert len(reads_few) == len(reads_many)
    # SQLite takes 999 values a statement: 90 new fitments are two statements.
    assert len(many) <= len(few) + 1


def test_queries_grow_by_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    one_batch = len(_queries(4))
    monkeypatch.setattr(settle, "BATCH_VEHICLES", 2)
    batches = [query for query in _queries(4) if not query.startswith("ANALYZE")]
    # The transaction's own two queries are needed once.
    assert len(batches) - 2 == 2 * (one_batch - 2)


def test_rows_of_many_vehicles_are_counted_once(monkeypatch: pytest.MonkeyPatch) -> None:
    def counting() -> int:
        return sum(query.startswith("ANALYZE") for query in _queries(4))

    assert counting() == 0
    monkeypatch.setattr(settle, "BATCH_VEHICLES", 2)
    assert counting() == (1 if connection.vendor == "postgresql" else 0)


def test_all_or_none(vehicle: Vehicle, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settle, "BATCH_VEHICLES", 1)
    second = VehicleFactory(first_used_on=FIRST_USE, watched_from_new=True)
    derive = settle.fitments_derive

    def fails_at_the_second(*, vehicle_ids: list[int], **given: Any) -> None:
        if second.pk in vehicle_ids:
            raise RuntimeError("stopped here")
        derive(vehicle_ids=vehicle_ids, **given)

    monkeypatch.setattr(settle, "fitments_derive", fails_at_the_second)
    with pytest.raises(RuntimeError, match="stopped here"):
        vehicles_settle(vehicle_ids=[vehicle.pk, second.pk])
    assert not Fitment.objects.exists()

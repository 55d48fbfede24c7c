"""Reads of the records: what is found, by whom, and at what cost."""

from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.http import Http404
from django.test.utils import CaptureQueriesContext

from garage.records.choices import ReadingSource
from garage.records.models import Vehicle
from garage.records.permissions import Scope, scope_of_user
from garage.records.selectors import (
    MOST_FOUND,
    access_vehicle,
    families_in_scope,
    vehicle_history,
    vehicles_find,
    vehicles_in_scope,
)
from garage.records.services.settle import vehicles_settle
from tests.records.cast import Cast
from tests.records.factories import (
    ClusterReplacementFactory,
    EngineFamilyFactory,
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    PartKindFactory,
    RegistrationMarkFactory,
    VehicleFactory,
)

VIN = "0ABTEST0012345678"


@pytest.fixture
def vehicle(cast: Cast) -> Vehicle:
    """A vehicle of Alder, with a present and a former mark."""
    vehicle = VehicleFactory(organisation=cast.alder, ref="Van 12", vin=VIN)
    RegistrationMarkFactory(vehicle=vehicle, mark="QX 1234 A", until_on=date(2020, 1, 1))
    RegistrationMarkFactory(vehicle=vehicle, mark="QZ-77-KL", from_on=date(2020, 1, 1))
    return vehicle


def refs(scope: Scope, text: str) -> list[str]:
    return [vehicle.ref for vehicle in vehicles_find(scope=scope, text=text)]


# --- one vehicle ---


@pytest.mark.parametrize("who", ["owner", "technician", "viewer", "at_both"])
def test_members_of_alder_reach_its_vehicle(cast: Cast, vehicle: Vehicle, who: str) -> None:
    scope = scope_of_user(getattr(cast, who))
    assert access_vehicle(scope=scope, vehicle_id=vehicle.pk) == vehicle


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_vehicle_answers_as_a_missing_one(cast: Cast, vehicle: Vehicle, who: str) -> None:
    scope = scope_of_user(getattr(cast, who))
    said = []
    for vehicle_id in (vehicle.pk, vehicle.pk + 1_000_000):
        with pytest.raises(Http404) as refusal:
            access_vehicle(scope=scope, vehicle_id=vehicle_id)
        said.append(str(refusal.value))
    assert len(set(said)) == 1


def test_access_is_one_query_with_owner_and_family(cast: Cast, vehicle: Vehicle) -> None:
    scope = cast.scope(cast.alder)
    with CaptureQueriesContext(connection) as captured:
        found = access_vehicle(scope=scope, vehicle_id=vehicle.pk)
        assert (found.organisation.code, found.engine_family) == ("alder", vehicle.engine_family)
    assert len(captured) == 1


# --- finding ---


@pytest.mark.parametrize(
    "text",
    [
        *("QZ-77-KL", "qz77kl", " QZ 77 KL "),  # the present mark
        *("QX1234A", "qx 1234 a"),  # the former one
        *(VIN, VIN.lower(), "0ABTEST00 12345678"),
        *("Van 12", "VAN 12", " van 12 "),
        *("QZ7", "77K", "7KL", "1234"),  # pieces of marks
        *("0AB", "12345678", "TEST"),  # pieces of the VIN
        *("van", "n 1"),  # pieces of the own name
    ],
)
def test_a_vehicle_is_found_by_mark_vin_or_name(cast: Cast, vehicle: Vehicle, text: str) -> None:
    VehicleFactory(organisation=cast.alder, ref="other", vin="")
    assert refs(cast.scope(cast.alder), text) == ["Van 12"]
    assert refs(cast.scope(cast.birch, cast.cedar), text) == []


@pytest.mark.parametrize("text", ["", "  ", "-", "QZ", "12", "%", "___", "QZ78", "XQZ77KL"])
def test_nothing_is_found_by_what_does_not_fit_or_is_too_short(
    cast: Cast, vehicle: Vehicle, text: str
) -> None:
    assert refs(cast.scope(cast.alder), "QZ77KL") == ["Van 12"]
    assert refs(cast.scope(cast.alder), text) == []


def test_a_short_name_is_found_whole(cast: Cast) -> None:
    for ref in ("7", "71", "17"):
        VehicleFactory(organisation=cast.alder, ref=ref)
    assert refs(cast.scope(cast.alder), "7") == ["7"]


def test_exact_matches_come_before_beginnings_before_pieces(cast: Cast) -> None:
    for ref, mark in (("a piece", "XQX1"), ("b beginning", "QX12"), ("c exact", "QX1")):
        RegistrationMarkFactory(vehicle=VehicleFactory(organisation=cast.alder, ref=ref), mark=mark)
    assert refs(cast.scope(cast.alder), "QX1") == ["c exact", "b beginning", "a piece"]


def test_a_vehicle_with_several_fitting_marks_is_found_once(cast: Cast, vehicle: Vehicle) -> None:
    RegistrationMarkFactory(vehicle=vehicle, mark="QZ-77-KM", until_on=date(2019, 1, 1))
    assert refs(cast.scope(cast.alder), "QZ77K") == ["Van 12"]


def test_at_most_fifty_are_found(cast: Cast) -> None:
    for number in range(MOST_FOUND + 5):
        VehicleFactory(organisation=cast.alder, ref=f"Lorry {number}")
    one_more = VehicleFactory(organisation=cast.alder, ref="Lorry")
    found = refs(cast.scope(cast.alder), "Lorry")
    assert len(found) == MOST_FOUND
    assert found[0] == one_more.ref


def test_finding_reads_nothing_more_for_more_vehicles(cast: Cast) -> None:
    def queries(count: int) -> int:
        for vehicle in VehicleFactory.create_batch(count, organisation=cast.alder):
            RegistrationMarkFactory(vehicle=vehicle, mark=f"WW 0{vehicle.pk}")
        with CaptureQueriesContext(connection) as captured:
            for found in vehicles_find(scope=cast.scope(cast.alder), text="WW 0"):
                assert found.organisation.code == "alder"
                assert found.engine_family is not None
                assert len(found.marks.all()) == 1
        return len(captured)

    assert queries(3) == queries(27) == 2


def test_vehicles_in_scope_are_those_of_its_organisations(cast: Cast, vehicle: Vehicle) -> None:
    at_birch = VehicleFactory(organisation=cast.birch)
    assert set(vehicles_in_scope(scope=cast.scope(cast.alder, cast.birch))) == {vehicle, at_birch}
    assert set(vehicles_in_scope(scope=cast.scope(cast.alder))) == {vehicle}
    assert set(vehicles_in_scope(scope=Scope(frozenset()))) == set()


# --- history ---


def job_add(vehicle: Vehicle, opened_on: date, km: int | None) -> None:
    job = JobFactory(vehicle=vehicle, opened_on=opened_on, ref=f"{opened_on}")
    part = PartKindFactory(code="particulate_filter")
    OperationFactory(job=job, kind="inspect")
    OperationFactory(job=job, kind="replace", part_kind=part, part_origin="new_original")
    if km is not None:
        OdometerReadingFactory(
            vehicle=vehicle,
            job=job,
            read_on=opened_on,
            typed=Decimal(km),
            source=ReadingSource.JOB,
        )


def test_a_history_holds_everything_in_order(vehicle: Vehicle) -> None:
    job_add(vehicle, date(2021, 5, 1), 80_000)
    job_add(vehicle, date(2023, 5, 1), None)
    job_add(vehicle, date(2022, 5, 1), 100_000)
    keeper = OdometerReadingFactory(
        vehicle=vehicle, read_on=date(2021, 9, 1), typed=Decimal(85_000)
    )
    cluster = ClusterReplacementFactory(
        vehicle=vehicle, done_on=date(2010, 1, 1), typed_offset=Decimal(0)
    )
    vehicles_settle(vehicle_ids=[vehicle.pk])
    history = vehicle_history(vehicle=vehicle)
    assert history.vehicle == vehicle
    assert [entry.job.ref for entry in history.jobs] == ["2023-05-01", "2022-05-01", "2021-05-01"]
    assert [entry.reading and entry.reading.km for entry in history.jobs] == [
        None,
        100_000,
        80_000,
    ]
    assert [[o.kind for o in entry.operations] for entry in history.jobs] == [
        ["inspect", "replace"]
    ] * 3
    assert [mark.mark for mark in history.marks] == ["QX 1234 A", "QZ-77-KL"]
    assert [reading.km for reading in history.readings] == [80_000, 85_000, 100_000]
    assert history.readings[1] == keeper
    assert [fitment.fitted_km for fitment in history.fitments] == [None, 80_000, 100_000, None]
    assert history.fitments[0].start == "unknown"
    assert history.fitments[-1].removed_at is None
    assert history.cluster_replacements == [cluster]


def test_fitments_stay_in_order_when_an_older_job_arrives_late(vehicle: Vehicle) -> None:
    job_add(vehicle, date(2022, 5, 1), 100_000)
    vehicles_settle(vehicle_ids=[vehicle.pk])
    job_add(vehicle, date(2021, 5, 1), 80_000)
    vehicles_settle(vehicle_ids=[vehicle.pk])
    fitments = vehicle_history(vehicle=vehicle).fitments
    assert [fitment.fitted_km for fitment in fitments] == [None, 80_000, 100_000]


def test_a_history_holds_nothing_of_other_vehicles(cast: Cast, vehicle: Vehicle) -> None:
    other = VehicleFactory(organisation=cast.alder)
    job_add(other, date(2021, 5, 1), 80_000)
    RegistrationMarkFactory(vehicle=other)
    ClusterReplacementFactory(vehicle=other)
    vehicles_settle(vehicle_ids=[other.pk])
    history = vehicle_history(vehicle=vehicle)
    assert (history.jobs, history.readings, history.fitments) == ([], [], [])
    assert history.cluster_replacements == []
    assert len(history.marks) == 2


def test_anothers_job_on_the_vehicle_is_not_shown(cast: Cast, vehicle: Vehicle) -> None:
    JobFactory(vehicle=vehicle, ref="ours")
    JobFactory(vehicle=vehicle, ref="theirs", organisation=cast.cedar)
    assert [entry.job.ref for entry in vehicle_history(vehicle=vehicle).jobs] == ["ours"]


def test_a_history_costs_the_same_however_long_it_is(vehicle: Vehicle) -> None:
    def queries(years: range) -> int:
        for year in years:
            job_add(vehicle, date(year, 5, 1), 20_000 * (year - 1990))
        vehicles_settle(vehicle_ids=[vehicle.pk])
        with CaptureQueriesContext(connection) as captured:
            history = vehicle_history(vehicle=vehicle)
            for entry in history.jobs:
                assert entry.reading is not None
                assert [
                    operation.part_kind and operation.part_kind.code
                    for operation in entry.operations
                ] == [None, "particulate_filter"]
            for fitment in history.fitments:
                assert fitment.part_kind.code == "particulate_filter"
                assert fitment.fitted_at is not None
                assert fitment.removed_at is None or fitment.removed_at.ref
        return len(captured)

    assert queries(range(1991, 1994)) == queries(range(1994, 2021))


# --- families ---


def test_families_are_those_of_vehicles_in_scope(cast: Cast) -> None:
    larch, birch_family, unused = (
        EngineFamilyFactory(name=name) for name in ("Larch 8", "Birch 20", "Elm 12")
    )
    VehicleFactory.create_batch(2, organisation=cast.alder, engine_family=larch)
    VehicleFactory(organisation=cast.birch, engine_family=larch)
    VehicleFactory(organisation=cast.birch, engine_family=birch_family)
    VehicleFactory(organisation=cast.alder, engine_family=None)

    def counted(scope: Scope) -> list[tuple[str, int]]:
        return [(f.name, f.vehicle_count) for f in families_in_scope(scope=scope)]

    assert counted(cast.scope(cast.alder)) == [("Larch 8", 2)]
    assert counted(cast.scope(cast.birch)) == [("Birch 20", 1), ("Larch 8", 1)]
    assert counted(cast.scope(cast.alder, cast.birch)) == [("Birch 20", 1), ("Larch 8", 3)]
    assert counted(scope_of_user(cast.at_cedar)) == []
    everyone = cast.scope(cast.alder, cast.birch, cast.cedar, cast.fleet, cast.adviser)
    assert unused.name not in dict(counted(everyone))

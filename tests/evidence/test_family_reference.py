"""What the sound filters of a family read, from the register's own jobs."""

from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from garage.evidence.family_reference import family_measured, family_references
from garage.evidence.findings.measured import Family
from garage.evidence.jobs.evidence import visit_said
from garage.evidence.own_limits import limits_for
from garage.evidence.resistance.reference import ReferenceStatus
from garage.evidence.resistance.states import Layout
from garage.records.choices import BaselineBecause
from garage.records.models import Baseline, EngineFamily, Job, Organisation
from tests.records.evidence_factories import (
    AT,
    FindingSeenFactory,
    OutcomeConfirmedFactory,
    ReadingFactory,
)
from tests.records.factories import (
    EngineFamilyFactory,
    JobFactory,
    OrganisationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db
OK, COMMON = ReferenceStatus.OK, ReferenceStatus.COMMON_PRACTICE


@pytest.fixture
def family() -> EngineFamily:
    return EngineFamilyFactory(name="Birch 20")


@pytest.fixture
def workshop() -> Organisation:
    return OrganisationFactory()


def read(job: Job, value: float, condition: str, **more: Any) -> Any:
    said = {"phase": "after_work", **more}
    return ReadingFactory(job=job, value=Decimal(str(value)), condition=condition, **said)


def with_flow(job: Job) -> None:
    """Warm gas at 10 g/s and 48 g/s."""
    for condition, kg_per_h, temperature in (("idle", 36, 150), ("raised", 172.8, 250)):
        read(job, kg_per_h, condition, quantity="exhaust_flow", unit="kg/h")
        read(job, temperature, condition, quantity="exhaust_temperature_before", unit="°C")


def after_work(
    family: EngineFamily, workshop: Organisation, raised: float = 12.0, **more: Any
) -> Job:
    """A vehicle of the family, read after work with the zero first."""
    vehicle = VehicleFactory(organisation=workshop, engine_family=family)
    job = JobFactory(organisation=workshop, vehicle=vehicle)
    read(job, 0.0, "engine_off", **more)
    read(job, 2.0, "idle", **more)
    read(job, raised, "raised", **{"speed_rpm": 2500, **more})
    return job


def kept(job: Job, because: str = BaselineBecause.COMPLETED_BURN) -> Job:
    reading = job.technical_readings.order_by("pk")[1]
    Baseline.objects.create(reading=reading, because=because, kept_at=AT)
    return job


def n_of(family: EngineFamily, workshop: Organisation, layout: Layout = Layout.TWO_HOSE) -> int:
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    return found.at("raised", layout).n


def test_family_that_nobody_read_falls_back_on_common_practice(
    family: EngineFamily, workshop: Organisation
) -> None:
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    raised, idle = (found.at(each, Layout.TWO_HOSE) for each in ("raised", "idle"))
    # 0 to 8 mbar at idle and 8 to 30 mbar at 2500 to 3000 rpm: common practice, no source.
    assert [(each.at(0.05).value, each.at(0.95).value) for each in (idle, raised)] == [
        (0.0, 8.0),
        (8.0, 30.0),
    ]
    assert {found.index.status, raised.status, idle.status} == {COMMON}
    assert "common practice, no source" in raised.reason
    assert found.at("raised", Layout.ONE_HOSE).status is ReferenceStatus.NO_RANGE
    assert family_measured(family_id=family.pk, organisation_ids=[workshop.pk]) == Family()


def test_ten_vehicles_give_the_family_its_own_values(
    family: EngineFamily, workshop: Organisation
) -> None:
    values = [9.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0, 17.0, 18.0]
    for each in values[:9]:
        kept(after_work(family, workshop, each))
    assert family_measured(family_id=family.pk, organisation_ids=[workshop.pk]) == Family()
    kept(after_work(family, workshop, values[9]))
    found = family_measured(family_id=family.pk, organisation_ids=[workshop.pk])
    # NumPy's own quantiles of Hyndman and Fan's eighth kind.
    expected = np.quantile(values, [0.5, 0.1, 0.9], method="median_unbiased")
    assert (found.clean_mbar, found.tenth_mbar, found.ninetieth_mbar) == pytest.approx(
        tuple(expected)
    )
    assert found.idle_mbar == pytest.approx(2.0)


def test_index_is_told_where_flow_was_read(family: EngineFamily, workshop: Organisation) -> None:
    for _ in range(10):
        with_flow(kept(after_work(family, workshop, 13.8)))
    kept(after_work(family, workshop, 13.8))
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    assert (found.index.status, found.index.n) == (OK, 10)
    # 13.8 mbar at about 256 m³/h, idle in the ratio of a filter: about 0.054 mbar per m³/h.
    assert found.index.at(0.5).value == pytest.approx(13.8 / 256.0, rel=0.05)
    assert found.at("raised", Layout.TWO_HOSE).n == 11


def test_vehicle_counts_once(family: EngineFamily, workshop: Organisation) -> None:
    first = kept(after_work(family, workshop))
    again = JobFactory(organisation=workshop, vehicle=first.vehicle)
    for value, condition in ((0.0, "engine_off"), (2.0, "idle"), (20.0, "raised")):
        read(again, value, condition, speed_rpm=2500)
    kept(again)
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    raised = found.at("raised", Layout.TWO_HOSE)
    assert (raised.n, raised.readings) == (1, 2)


@pytest.mark.parametrize(
    ("state", "because", "counts"),
    [
        ("sound", None, True),
        ("soot_loaded", None, False),
        (None, None, False),
        (None, BaselineBecause.COMPLETED_BURN, True),
        ("soot_loaded", BaselineBecause.COMPLETED_BURN, True),
        ("ash_limited", BaselineBecause.COMPLETED_BURN, False),
        ("broken_through", BaselineBecause.COMPLETED_BURN, False),
        ("restricted_elsewhere", BaselineBecause.COMPLETED_BURN, False),
        (None, BaselineBecause.NEW_PART, True),
        ("ash_limited", BaselineBecause.NEW_PART, True),
        ("broken_through", BaselineBecause.NEW_PART, True),
        ("restricted_elsewhere", BaselineBecause.NEW_PART, False),
    ],
)
def test_only_filters_that_are_sound_after_the_work_count(
    family: EngineFamily, workshop: Organisation, state: str, because: str, *, counts: bool
) -> None:
    job = after_work(family, workshop)
    if because is not None:
        kept(job, because)
    if state is not None:
        OutcomeConfirmedFactory(job=job, state=state)
    assert n_of(family, workshop) == (1 if counts else 0)


@pytest.mark.parametrize(
    ("finding", "state", "counts"),
    [
        ("soot_fall", "burned", 1),
        ("soot_fall", "without_heat", 0),
        ("burn_end", "completed", 1),
        ("burn_end", "broken_off", 0),
        ("burn_end", "none_begun", 0),
    ],
)
def test_burn_that_its_trace_disproves_makes_no_reference(
    family: EngineFamily, workshop: Organisation, finding: str, state: str, counts: int
) -> None:
    FindingSeenFactory(job=kept(after_work(family, workshop)), finding=finding, state=state)
    assert n_of(family, workshop) == counts


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"layout": ""}, "how the sensor is connected"),
        ({"unit": ""}, "unit is not known"),
    ],
)
def test_readings_that_cannot_be_compared_are_left_out_and_told(
    family: EngineFamily, workshop: Organisation, change: dict[str, Any], reason: str
) -> None:
    kept(after_work(family, workshop, **change))
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    assert found.at("raised", Layout.TWO_HOSE).n == 0
    assert [(each.jobs, reason in each.reason) for each in found.left_out] == [(1, True)]


def test_reading_without_its_zero_is_left_out_and_told(
    family: EngineFamily, workshop: Organisation
) -> None:
    job = kept(after_work(family, workshop))
    job.technical_readings.filter(condition="engine_off").delete()
    found = family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    assert [each.reason for each in found.left_out] == [
        "the zero was not read, or lies too far off"
    ]


@pytest.mark.parametrize(("speed", "counts"), [(2500, 1), (3000, 1), (1500, 0), (None, 0)])
def test_only_raised_speed_as_it_is_told_at_counts(
    family: EngineFamily, workshop: Organisation, speed: int | None, counts: int
) -> None:
    kept(after_work(family, workshop, speed_rpm=speed))
    assert n_of(family, workshop) == counts


def test_one_hose_stands_apart(family: EngineFamily, workshop: Organisation) -> None:
    kept(after_work(family, workshop, layout="one_hose"))
    assert n_of(family, workshop, Layout.ONE_HOSE) == 1
    assert n_of(family, workshop) == 0


@pytest.mark.parametrize(("layout", "known"), [("two_hose", True), ("", True), ("one_hose", False)])
def test_reading_is_held_against_values_of_its_own_layout(
    family: EngineFamily, workshop: Organisation, layout: str, known: bool
) -> None:
    # Fails when what one hose reads, the silencer with it, is graded by what two hoses read.
    for _ in range(10):
        kept(after_work(family, workshop))
    job = after_work(family, workshop, 25.0, layout=layout, phase="recheck")
    limits = limits_for(workshop.pk, family.pk)
    said = visit_said(job=job, phase="recheck", organisation_ids=[workshop.pk], limits=limits)
    assert (said.family.ninetieth_mbar is not None) is known


def test_others_jobs_and_other_families_do_not_count(
    family: EngineFamily, workshop: Organisation
) -> None:
    kept(after_work(family, OrganisationFactory()))
    kept(after_work(EngineFamilyFactory(name="Alder 16"), workshop))
    assert n_of(family, workshop) == 0


def test_arrival_does_not_count(family: EngineFamily, workshop: Organisation) -> None:
    job = kept(after_work(family, workshop))
    job.technical_readings.update(phase="arrival")
    assert n_of(family, workshop) == 0


@pytest.mark.parametrize("vehicles", [3, 30])
def test_asks_the_database_once(
    family: EngineFamily, workshop: Organisation, vehicles: int
) -> None:
    for _ in range(vehicles):
        kept(after_work(family, workshop))
    with CaptureQueriesContext(connection) as asked:
        family_references(family_id=family.pk, organisation_ids=[workshop.pk])
    assert len(asked) == 1

"""A display's unit confirmed and taken back, and its bare readings told in it."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.services.display_units import (
    UnitSaid,
    readings_restate,
    readings_shown_by,
    unit_confirm,
    unit_unconfirm,
    vehicle_readings_restate,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Instrument, Job, Reading, UnitConfirmed
from garage.records.services.engine_families import family_join
from garage.records.services.settle import vehicles_changed
from tests.records.evidence_factories import InstrumentFactory, ReadingFactory
from tests.records.factories import EngineFamilyFactory, JobFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
FOR_ALL = UnitSaid("kPa")


@pytest.fixture
def job() -> Job:
    return JobFactory()


@pytest.fixture
def display(job: Job) -> Instrument:
    return InstrumentFactory(organisation=job.organisation)


def bare(job: Job, display: Instrument | None, **more: Any) -> Reading:
    return ReadingFactory(job=job, instrument=display, unit="", value=Decimal("4.8"), **more)


def told(reading: Reading) -> float | None:
    reading.refresh_from_db()
    return reading.standard_value


def test_unit_is_confirmed_by_a_person_and_tells_the_bare_readings(
    job: Job, display: Instrument
) -> None:
    member, reading = UserFactory(), bare(job, display)
    kept = unit_confirm(instrument=display, said=FOR_ALL, at=AT, by=member)
    assert (kept.unit, kept.confirmed_at, kept.confirmed_by) == ("kPa", AT, member)
    assert told(reading) == 48.0  # 1 kPa is 10 mbar: NIST SP 811, appendix B.8
    assert AuditEntry.objects.get().changes == {
        "pressure_across_filter": [None, "kPa"],
        "readings_told": [None, 1],
    }


def test_unit_tells_only_bare_readings_of_its_display_family_and_quantity(
    job: Job, display: Instrument
) -> None:
    family = job.vehicle.engine_family
    here = bare(job, display)
    others = [
        bare(job, InstrumentFactory(organisation=job.organisation)),
        bare(JobFactory(vehicle__organisation=job.organisation), display),
        bare(job, display, quantity="pressure_before_filter"),
        bare(job, None),
    ]
    labelled = ReadingFactory(job=job, instrument=display, unit="psi", value=Decimal(1))
    before = labelled.standard_value
    unit_confirm(instrument=display, said=replace(FOR_ALL, engine_family=family), at=AT)
    assert told(here) == 48.0
    assert [told(each) for each in others] == [None] * 4
    assert told(labelled) == before


def test_later_answer_takes_the_place_of_an_earlier_one(job: Job, display: Instrument) -> None:
    reading = bare(job, display)
    unit_confirm(instrument=display, said=FOR_ALL, at=AT)
    unit_confirm(instrument=display, said=replace(FOR_ALL, unit="hPa"), at=AT)
    assert UnitConfirmed.objects.get().unit == "hPa"
    assert told(reading) == 4.8


def test_unit_taken_back_leaves_what_holds_then(job: Job, display: Instrument) -> None:
    reading, family = bare(job, display), job.vehicle.engine_family
    for_all = unit_confirm(instrument=display, said=FOR_ALL, at=AT)
    own = unit_confirm(instrument=display, said=UnitSaid("mbar", family), at=AT)
    assert told(reading) == 4.8
    assert unit_unconfirm(confirmed=own, at=AT) == 1
    assert told(reading) == 48.0
    assert unit_unconfirm(confirmed=for_all, at=AT) == 1
    assert told(reading) is None
    assert AuditEntry.objects.order_by("-serial")[0].changes == {
        "pressure_across_filter": ["kPa", None]
    }


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"unit": "stone"}, "unit"),
        ({"unit": ""}, "unit"),
        ({"unit": "°C"}, "unit"),
        ({"quantity": "mood"}, "quantity"),
    ],
)
def test_unit_that_cannot_be_is_refused(
    display: Instrument, changed: dict[str, Any], column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        unit_confirm(instrument=display, said=replace(FOR_ALL, **changed), at=AT)
    assert refused.value.column == column
    assert not UnitConfirmed.objects.exists()


def test_unit_of_a_display_that_names_its_own_is_refused(job: Job) -> None:
    gauge = InstrumentFactory(organisation=job.organisation, unit="mbar")
    with pytest.raises(RuleBroken, match="names none"):
        unit_confirm(instrument=gauge, said=FOR_ALL, at=AT)


def test_unit_for_a_family_without_readings_is_kept(display: Instrument) -> None:
    said = replace(FOR_ALL, engine_family=EngineFamilyFactory())
    assert unit_confirm(instrument=display, said=said, at=AT).engine_family == said.engine_family


# --- which display showed them ---


def test_bare_pressures_of_a_job_are_said_to_be_of_a_display(job: Job, display: Instrument) -> None:
    unit_confirm(instrument=display, said=FOR_ALL, at=AT)
    reading = bare(job, None)
    left = [
        ReadingFactory(job=job, unit="mbar"),
        bare(job, None, quantity="soot_mass"),
        bare(job, InstrumentFactory(organisation=job.organisation)),
        bare(JobFactory(vehicle=job.vehicle), None),
    ]
    assert readings_shown_by(job=job, instrument=display, at=AT) == 1
    assert told(reading) == 48.0
    assert reading.instrument == display
    for each in left:
        each.refresh_from_db()
        assert each.instrument != display


def test_no_bare_pressure_leaves_no_trace(job: Job, display: Instrument) -> None:
    assert readings_shown_by(job=job, instrument=display, at=AT) == 0
    assert not AuditEntry.objects.exists()


def test_display_of_another_workshop_is_refused(job: Job) -> None:
    reading = bare(job, None)
    with pytest.raises(RuleBroken, match="workshop that did the job"):
        readings_shown_by(job=job, instrument=InstrumentFactory(), at=AT)
    assert told(reading) is None


def test_bare_readings_of_a_vehicle_are_told_anew_where_its_family_changes(
    job: Job, display: Instrument
) -> None:
    family = job.vehicle.engine_family
    unit_confirm(instrument=display, said=UnitSaid("kPa", family), at=AT)
    reading = bare(job, display)
    readings_restate(instrument=display)
    before = told(reading)
    assert before is not None
    job.vehicle.engine_family = EngineFamilyFactory()
    job.vehicle.save()
    vehicle_readings_restate(vehicle_ids=[JobFactory().vehicle_id])
    assert told(reading) == before
    vehicles_changed(vehicle_ids=[job.vehicle_id], at=AT)
    assert told(reading) is None


def test_bare_readings_are_told_where_the_family_is_joined_to_one_that_is_known(
    job: Job, display: Instrument
) -> None:
    known, other = EngineFamilyFactory(), job.vehicle.engine_family
    unit_confirm(instrument=display, said=UnitSaid("kPa", known), at=AT)
    reading = bare(job, display)
    readings_restate(instrument=display)
    assert told(reading) is None
    assert other is not None
    family_join(family=other, into=known, at=AT)
    assert told(reading) is not None


def test_unit_confirmed_for_a_family_moves_along_where_that_is_joined(
    job: Job, display: Instrument
) -> None:
    into, family = EngineFamilyFactory(), job.vehicle.engine_family
    assert family is not None
    unit_confirm(instrument=display, said=UnitSaid("kPa", family), at=AT)
    reading = bare(job, display)
    readings_restate(instrument=display)
    before = told(reading)
    family_join(family=family, into=into, at=AT)
    assert UnitConfirmed.objects.get().engine_family == into
    assert told(reading) == before is not None

"""Readings of a job: kept as shown and in the standard unit, and the vehicle's own reference."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.services.readings import NewReading, baselines_of, reading_add
from garage.records.choices import FILTER_PART_KIND
from garage.records.errors import RuleBroken
from garage.records.models import Baseline, Job, Reading
from tests.records.evidence_factories import InstrumentFactory, UnitConfirmedFactory
from tests.records.factories import JobFactory, OperationFactory, PartKindFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
PRESSURE = NewReading("pressure_across_filter", Decimal("4.8"), "after_work", "mbar", "idle")


@pytest.fixture
def job() -> Job:
    return JobFactory()


@pytest.mark.parametrize(
    ("kind", "because"),
    [
        ("replace", "new_part"),
        ("clean_off_vehicle", "new_part"),
        ("regenerate_stationary", "completed_burn"),
        ("regenerate_driving", "completed_burn"),
        ("clear_codes", None),
    ],
)
def test_first_reading_after_the_work_is_the_vehicles_own_reference(
    job: Job, kind: str, because: str | None
) -> None:
    OperationFactory(job=job, kind=kind, part_kind=PartKindFactory(code=FILTER_PART_KIND))
    reading_add(job=job, new=PRESSURE, at=AT)
    kept = list(Baseline.objects.values_list("because", flat=True))
    assert kept == ([] if because is None else [because])


@pytest.mark.parametrize("kind", ["replace", "clean_off_vehicle"])
@pytest.mark.parametrize(
    ("code", "count"), [("particulate_filter", 1), ("pressure_sensor_of_test", 0), (None, 0)]
)
def test_another_new_part_renews_no_filter(
    job: Job, kind: str, code: str | None, count: int
) -> None:
    part = None if code is None else PartKindFactory(code=code)
    OperationFactory(job=job, kind=kind, part_kind=part)
    reading_add(job=job, new=PRESSURE, at=AT)
    assert Baseline.objects.count() == count


def test_reading_on_arrival_is_no_reference_and_the_second_after_work_neither(job: Job) -> None:
    OperationFactory(job=job, kind="replace", part_kind=PartKindFactory(code=FILTER_PART_KIND))
    reading_add(job=job, new=replace(PRESSURE, phase="arrival"), at=AT)
    assert baselines_of(vehicle=job.vehicle) == []
    first = reading_add(job=job, new=PRESSURE, at=AT)
    reading_add(job=job, new=replace(PRESSURE, value=Decimal(9)), at=AT)
    other = reading_add(job=job, new=replace(PRESSURE, condition="raised"), at=AT)
    kept = {each.reading_id for each in baselines_of(vehicle=job.vehicle)}
    assert kept == {first.pk, other.pk}


@pytest.mark.parametrize(
    ("quantity", "kind"), [("pressure_across_filter", "measured"), ("soot_mass", "modelled")]
)
def test_reading_says_whether_it_was_measured_or_reckoned(
    job: Job, quantity: str, kind: str
) -> None:
    unit = "mbar" if kind == "measured" else "g"
    new = replace(PRESSURE, quantity=quantity, unit=unit, speed_rpm=0, layout="two_hose")
    new = replace(new, km_since_burn=0)
    reading = reading_add(job=job, new=new, at=AT)
    reading.refresh_from_db()
    assert reading.kind == kind
    assert (reading.speed_rpm, reading.layout, reading.km_since_burn) == (0, "two_hose", 0)


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"quantity": "mood"}, "quantity"),
        ({"kind": "commanded"}, "kind"),
        ({"unit": "g"}, "unit"),
        ({"value": Decimal(5000)}, "value"),
        ({"condition": "engine_off", "speed_rpm": 800}, "speed_rpm"),
        ({"minutes_since_burn": -1}, "minutes_since_burn"),
        ({"value": Decimal("NaN")}, "value"),
        ({"value": Decimal(10) ** 10}, "value"),
        ({"phase": "later"}, "phase"),
        ({"unit": "x" * 17}, "unit"),
        ({"condition": "fast"}, "condition"),
        ({"layout": "three_hose"}, "layout"),
        ({"speed_rpm": 10_001}, "speed_rpm"),
        ({"speed_rpm": -1}, "speed_rpm"),
        ({"km_since_burn": 100_001}, "km_since_burn"),
    ],
)
def test_reading_that_cannot_be_is_refused(job: Job, changed: dict[str, Any], column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        reading_add(job=job, new=replace(PRESSURE, **changed), at=AT)
    assert refused.value.column == column
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("value", "unit", "standard"), [("0.48", "kPa", 4.8), ("4.8", "mBar", 4.8), ("48", "", None)]
)
def test_reading_keeps_what_was_shown_and_its_standard_value(
    job: Job, value: str, unit: str, standard: float | None
) -> None:
    reading_add(job=job, new=replace(PRESSURE, value=Decimal(value), unit=unit), at=AT)
    kept = Reading.objects.get()
    assert (kept.value, kept.unit) == (Decimal(value), unit)
    assert kept.standard_value == (None if standard is None else pytest.approx(standard))


def test_display_without_units_is_read_in_the_unit_confirmed_for_it(job: Job) -> None:
    display = InstrumentFactory(organisation=job.organisation)
    bare = replace(PRESSURE, value=Decimal("0.48"), unit="", instrument=display)
    assert reading_add(job=job, new=bare, at=AT).standard_value is None
    UnitConfirmedFactory(instrument=display, unit="kPa")
    reading = reading_add(job=job, new=bare, at=AT)
    assert (reading.unit, reading.standard_value) == ("", pytest.approx(4.8))


@pytest.mark.parametrize(("sent", "kept"), [(" ", ""), (" mbar ", "mbar")])
def test_unit_is_kept_without_blanks_around_it(job: Job, sent: str, kept: str) -> None:
    assert reading_add(job=job, new=replace(PRESSURE, unit=sent), at=AT).unit == kept


def test_instrument_of_another_workshop_is_refused(job: Job) -> None:
    own = InstrumentFactory(organisation=job.organisation)
    reading_add(job=job, new=replace(PRESSURE, instrument=own), at=AT)
    with pytest.raises(RuleBroken) as refused:
        reading_add(job=job, new=replace(PRESSURE, instrument=InstrumentFactory()), at=AT)
    assert refused.value.column == "instrument"


def test_every_fault_of_a_reading_is_told_at_once(job: Job) -> None:
    bad = replace(PRESSURE, value=Decimal(5000), layout="three_hose", phase="later")
    with pytest.raises(RuleBroken) as refused:
        reading_add(job=job, new=bad, at=AT)
    assert {each.column for each in refused.value.broken} == {"value", "layout", "phase"}

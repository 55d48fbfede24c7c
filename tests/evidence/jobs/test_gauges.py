"""The displays of a job: their unit from pairs or physics, and the sensor behind."""

from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.jobs.gauges import DisplayOfJob, JobGauges, job_gauges
from garage.records.models import Instrument, Job
from tests.records.evidence_factories import (
    GaugePairFactory,
    InstrumentFactory,
    ReadingFactory,
    UnitConfirmedFactory,
)
from tests.records.factories import JobFactory

pytestmark = pytest.mark.django_db

#: Pressures applied in Pa, and what a display in kPa then shows, with scatter of one step.
IN_KPA = ((0, "0.0"), (10_000, "10.1"), (20_000, "19.9"), (30_000, "30.0"))


@pytest.fixture
def job() -> Job:
    return JobFactory()


@pytest.fixture
def display(job: Job) -> Instrument:
    return InstrumentFactory(organisation=job.organisation, name="reader")


def pairs(job: Job, display: Instrument, rows: Any = IN_KPA, **more: Any) -> None:
    for applied_pa, shown in rows:
        GaugePairFactory(
            job=job, instrument=display, applied_pa=applied_pa, shown=Decimal(shown), **more
        )


def told(job: Job, phase: str = "arrival", **more: Any) -> JobGauges:
    return job_gauges(job=job, phase=phase, **more)


def only(job: Job, **more: Any) -> DisplayOfJob:
    (display,) = told(job, **more).displays
    return display


def test_job_without_readings_and_pairs_tells_of_no_display(job: Job) -> None:
    assert told(job) == JobGauges((), told(job).pressures, 0)
    assert told(job).pressures.zero_pa is None


def test_unit_is_told_by_pairs(job: Job, display: Instrument) -> None:
    pairs(job, display)
    found = only(job)
    assert found.inferred is not None
    assert (found.inferred.unit, found.unit, found.left) == ("kPa", None, None)
    assert found.sensor is None
    assert found.sensor_waits == "the display's unit is not known; confirm it first"


def test_pairs_of_another_job_on_the_family_tell_too(job: Job, display: Instrument) -> None:
    ReadingFactory(job=job, instrument=display, unit="", value=Decimal("0.5"))
    family = job.vehicle.engine_family
    earlier = JobFactory(vehicle__organisation=job.organisation, vehicle__engine_family=family)
    pairs(earlier, display)
    found = only(job)
    assert found.inferred is not None
    assert (found.inferred.unit, found.pairs, found.pairs_elsewhere) == ("kPa", (), 4)


def test_pairs_of_another_family_tell_nothing(job: Job, display: Instrument) -> None:
    ReadingFactory(job=job, instrument=display, unit="", value=Decimal("0.5"))
    pairs(JobFactory(vehicle__organisation=job.organisation), display)
    assert only(job).inferred is None


def test_vehicle_without_a_family_is_told_by_its_own_pairs(display: Instrument) -> None:
    job = JobFactory(vehicle__organisation=display.organisation, vehicle__engine_family=None)
    pairs(job, display)
    other = JobFactory(vehicle__organisation=display.organisation, vehicle__engine_family=None)
    pairs(other, display)
    assert only(job).pairs_elsewhere == 0


def test_physics_tells_where_no_pressure_was_applied(job: Job, display: Instrument) -> None:
    """0, 5 and 20 in bar would be 5 bar at idle: far over any state."""
    for condition, value in (("engine_off", "0"), ("idle", "5"), ("raised", "20")):
        ReadingFactory(
            job=job, instrument=display, unit="", value=Decimal(value), condition=condition
        )
    found = only(job)
    assert found.inferred is None
    assert found.left is not None
    assert "bar" in [each.unit for each in found.left.excluded]
    assert "kPa" in [each.unit for each in found.left.remaining]


@pytest.mark.parametrize(
    "changed", [{"unit": "mbar"}, {"condition": ""}, {"phase": "recheck"}, {"quantity": "opacity"}]
)
def test_reading_that_says_nothing_of_the_unit_leaves_physics_out(
    job: Job, display: Instrument, changed: dict[str, str]
) -> None:
    bare = {"unit": "", "value": Decimal(5), "condition": "idle", **changed}
    ReadingFactory(job=job, instrument=display, **bare)
    assert [each.left for each in told(job).displays] in ([None], [])


def test_step_is_the_instruments_own_where_it_is_kept(job: Job, display: Instrument) -> None:
    """A step of 250 of a display in hPa is 250 mbar: too coarse for a filter at idle."""
    display.resolution = Decimal(250)
    display.save()
    ReadingFactory(job=job, instrument=display, unit="", value=Decimal(0), condition="engine_off")
    found = only(job).left
    assert found is not None
    assert "too coarse" in next(e.reason for e in found.excluded if e.unit == "hPa (= mbar)")


def test_sensor_is_checked_once_the_unit_is_confirmed(job: Job, display: Instrument) -> None:
    pairs(job, display)
    UnitConfirmedFactory(instrument=display, unit="kPa", engine_family=job.vehicle.engine_family)
    for value in ("0.4", "0.6", "0.5"):
        ReadingFactory(job=job, unit="mbar", value=Decimal(value), condition="engine_off")
    sensor = only(job).sensor
    assert sensor is not None
    assert (sensor.verdict, sensor.finding, sensor.grading) == ("within", "true", "grade")
    assert sensor.zero.value == pytest.approx((40 + 60 + 50 + 0) / 4)


def test_sensor_with_a_wrong_slope_is_told(job: Job, display: Instrument) -> None:
    pairs(job, display, [(pa, str(round(pa * 0.0012, 1))) for pa, _ in IN_KPA])
    UnitConfirmedFactory(instrument=display, unit="kPa")
    sensor = only(job).sensor
    assert sensor is not None
    assert (sensor.finding, sensor.gain.value) == ("gain", pytest.approx(1.2, abs=0.01))


def test_sensor_let_down_is_a_direction_of_its_own(job: Job, display: Instrument) -> None:
    UnitConfirmedFactory(instrument=display, unit="kPa")
    pairs(job, display)
    assert only(job).sensor.hysteresis.value is None  # type: ignore[union-attr]
    pairs(job, display, falling=True)
    assert only(job).sensor.hysteresis.value == 0.0  # type: ignore[union-attr]


def test_display_that_names_its_unit_is_asked_for_none(job: Job) -> None:
    labelled = InstrumentFactory(organisation=job.organisation, unit="kPa")
    pairs(job, labelled)
    found = only(job)
    assert (found.inferred, found.left) == (None, None)
    assert found.sensor is not None


def test_zero_as_large_as_a_sound_idle_reading_holds_grading(job: Job, display: Instrument) -> None:
    UnitConfirmedFactory(instrument=display, unit="kPa")
    pairs(job, display)
    for value in ("1.5", "1.6"):
        ReadingFactory(job=job, unit="mbar", value=Decimal(value), condition="engine_off")
    sensor = only(job, sound_idle_pa=90.0).sensor
    assert sensor is not None
    assert sensor.grading == "hold"
    assert only(job, sound_idle_pa=400.0).sensor.grading == "grade"  # type: ignore[union-attr]


def test_pressures_for_the_hoses_are_the_last_of_each_condition(job: Job) -> None:
    ReadingFactory(job=job, value=Decimal(9), condition="idle")
    for condition, value in (("engine_off", "0.5"), ("idle", "5"), ("raised", "20")):
        ReadingFactory(job=job, value=Decimal(value), condition=condition)
    ReadingFactory(job=job, value=Decimal(7), unit="", condition="idle", layout="")
    found = told(job)
    assert (found.pressures.zero_pa, found.pressures.idle_pa, found.pressures.raised_pa) == (
        50.0,
        500.0,
        2_000.0,
    )
    assert (found.pressures.one_hose, found.bare_of_no_display) == (False, 1)


def test_layouts_that_differ_leave_it_not_known(job: Job) -> None:
    ReadingFactory(job=job, layout="two_hose")
    assert told(job).pressures.one_hose is False
    ReadingFactory(job=job, layout="one_hose")
    assert told(job).pressures.one_hose is None


@pytest.mark.parametrize("count", [3, 30])
def test_asks_the_database_as_often_whatever_was_read(
    job: Job, count: int, django_assert_num_queries: Any
) -> None:
    for number in range(count):
        display = InstrumentFactory(organisation=job.organisation, name=f"reader {number}")
        UnitConfirmedFactory(instrument=display, unit="kPa")
        pairs(job, display)
    fresh = Job.objects.select_related("vehicle", "organisation").get(pk=job.pk)
    with django_assert_num_queries(4):
        assert len(told(fresh).displays) == count

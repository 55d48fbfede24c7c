"""Resets of fault memory: a job's own counters held against the visit before it."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.codes.resets import INNOCENT, ResetSign, Sign
from garage.evidence.jobs.resets import JobResets, job_resets
from garage.evidence.jobs.visits_before import visits_before
from garage.records.choices import OperationKind
from garage.records.models import Job, Vehicle
from tests.records.evidence_factories import (
    FindingSeenFactory,
    OwnThresholdFactory,
    ReadingFactory,
    TroubleCodeReadFactory,
)
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2024, 3, 6, 9, 0, tzinfo=UTC)


@pytest.fixture
def vehicle() -> Vehicle:
    return VehicleFactory()


def visit(vehicle: Vehicle, on: date, km: int | None, **read: Any) -> Job:
    job = JobFactory(vehicle=vehicle, opened_on=on)
    if km is not None:
        OdometerReadingFactory(vehicle=vehicle, job=job, read_on=on, typed=km)
    for quantity, value in read.items():
        read_of(job, quantity, value)
    return Job.objects.select_related("organisation", "vehicle").get(pk=job.pk)


def read_of(job: Job, quantity: str, value: float, **more: Any) -> None:
    units = {"warm_ups_since_clear": "times", "engine_run_time": "h"}
    ReadingFactory(
        job=job,
        quantity=quantity,
        value=Decimal(value),
        unit=units.get(quantity, "km"),
        condition="",
        layout="",
        **more,
    )


@pytest.fixture
def earlier(vehicle: Vehicle) -> Job:
    return visit(vehicle, date(2024, 1, 6), 100_000)


@pytest.fixture
def job(vehicle: Vehicle, earlier: Job) -> Job:
    return visit(vehicle, date(2024, 5, 6), 110_000, distance_since_clear=800)


def resets_of(job: Job) -> JobResets:
    return job_resets(
        job=job, before=visits_before(job=job, organisation_ids=[job.organisation_id])
    )


def sign(job: Job, rule: str = "reset_between") -> ResetSign:
    return next(each for each in resets_of(job).signs if each.rule == rule)


def test_reset_between_visits_is_told_with_innocent_causes(job: Job, earlier: Job) -> None:
    assert resets_of(job).before == earlier
    told = sign(job)
    assert told.sign is Sign.SHOWN
    assert told.words.startswith("unexplained reset: 10 000 km driven")
    assert told.innocent == INNOCENT
    assert told.ask_next


def test_distance_that_fits_shows_none(vehicle: Vehicle, earlier: Job) -> None:
    job = visit(vehicle, date(2024, 5, 6), 110_000, distance_since_clear=9_900)
    assert sign(job).sign is Sign.NOT_SHOWN


def test_without_a_visit_before_it_cannot_be_told(vehicle: Vehicle) -> None:
    job = visit(vehicle, date(2024, 5, 6), 110_000, distance_since_clear=800)
    assert resets_of(job).before is None
    assert sign(job).sign is Sign.CANNOT_BE_TOLD


@pytest.mark.parametrize("which", ["earlier", "job"])
def test_odometer_in_doubt_cannot_tell(job: Job, earlier: Job, which: str) -> None:
    reading = {"earlier": earlier, "job": job}[which].reading
    reading.doubt, reading.doubt_reason = "backwards", "set back"
    reading.save()
    job = Job.objects.select_related("organisation", "vehicle").get(pk=job.pk)
    assert sign(job).sign is Sign.CANNOT_BE_TOLD


def test_visit_without_a_trusted_odometer_is_passed_over(
    vehicle: Vehicle, job: Job, earlier: Job
) -> None:
    visit(vehicle, date(2024, 3, 6), None)
    assert resets_of(job).before == earlier


@pytest.mark.parametrize("how", ["operation", "software", "clearing"])
def test_work_between_the_visits_explains_a_reset(vehicle: Vehicle, job: Job, how: str) -> None:
    between = visit(vehicle, date(2024, 3, 6), None)
    assert "unexplained" in sign(job).words
    if how == "clearing":
        TroubleCodeReadFactory(job=between, cleared_at=AT, cleared_by_name="A. Tester")
    else:
        kind = {"operation": OperationKind.CLEAR_CODES, "software": OperationKind.SOFTWARE_UPDATE}
        OperationFactory(job=between, kind=kind[how])
    assert "work on record explains" in sign(job).words


def test_repair_between_the_visits_is_likely_why(vehicle: Vehicle, job: Job) -> None:
    OperationFactory(job=visit(vehicle, date(2024, 3, 6), None), kind=OperationKind.REPAIR)
    assert "likely after the repair" in sign(job).words


@pytest.mark.parametrize(
    ("since_km", "words"), [(9_875, "unexplained"), (9_925, "work on record explains")]
)
def test_clearing_at_the_visit_before_explains_only_a_reset_near_to_it(
    vehicle: Vehicle, earlier: Job, since_km: int, words: str
) -> None:
    # With the slack of 155 km that is shipped no clearing so near would be a sign at all.
    OwnThresholdFactory(organisation=earlier.organisation, key="reset_slack_share", value=0.001)
    OperationFactory(job=earlier, kind=OperationKind.CLEAR_CODES)
    job = visit(vehicle, date(2024, 5, 6), 110_000, distance_since_clear=since_km)
    assert words in sign(job).words


def test_clearing_at_this_visit_explains_only_a_reset_near_to_it(
    vehicle: Vehicle, job: Job
) -> None:
    OperationFactory(job=job, kind=OperationKind.CLEAR_CODES)
    assert "unexplained" in sign(job).words
    read_of(job, "distance_since_clear", 2)
    assert "work on record explains" in sign(job).words


def test_only_what_was_read_on_arrival_counts_and_the_last_of_it(job: Job) -> None:
    read_of(job, "distance_since_clear", 2, phase="after_work")
    assert "800 km since" in sign(job).words
    read_of(job, "distance_since_clear", 801)
    assert "801 km since" in sign(job).words


def test_own_limit_holds(vehicle: Vehicle, earlier: Job) -> None:
    # 180 km are more than the 155 that are shipped, and less than 200.
    job = visit(vehicle, date(2024, 5, 6), 110_000, distance_since_clear=9_820)
    assert sign(job).sign is Sign.SHOWN
    OwnThresholdFactory(organisation=job.organisation, key="reset_slack_km", value=50)
    assert sign(job).sign is Sign.NOT_SHOWN


def test_short_while_since_a_clear_is_told_with_the_tests(vehicle: Vehicle) -> None:
    read = {"distance_since_clear": 40, "warm_ups_since_clear": 3}
    job = visit(vehicle, date(2024, 5, 6), 110_000, **read)
    assert sign(job, "recently_cleared").sign is Sign.CANNOT_BE_TOLD
    FindingSeenFactory(job=job, finding="self_tests", state="not_finished")
    assert sign(job, "recently_cleared").sign is Sign.SHOWN


def test_hours_run_and_odometers_are_held_together(vehicle: Vehicle) -> None:
    read = {"engine_run_time": 5_500, "odometer_on_board": 150_000}
    job = visit(vehicle, date(2024, 5, 6), 110_000, **read)
    assert sign(job, "mean_speed").words.startswith("20 km/h")
    assert sign(job, "odometers_differ").sign is Sign.SHOWN


def test_burns_that_come_closer_are_told_unless_software_began_the_mean_anew(
    vehicle: Vehicle,
) -> None:
    before = visit(vehicle, date(2024, 1, 6), 100_000, burn_interval=500)
    job = visit(vehicle, date(2024, 5, 6), 110_000, burn_interval=300)
    assert sign(job, "burns_closer").sign is Sign.SHOWN
    OperationFactory(job=before, kind=OperationKind.SOFTWARE_UPDATE)
    assert sign(job, "burns_closer").sign is Sign.CANNOT_BE_TOLD


def test_kind_of_code_that_was_not_typed_is_not_none_of_it(job: Job) -> None:
    TroubleCodeReadFactory(job=job, state="permanent")
    assert sign(job, "permanent_without_stored").sign is Sign.CANNOT_BE_TOLD
    TroubleCodeReadFactory(job=job, state="confirmed")
    assert sign(job, "permanent_without_stored").sign is Sign.NOT_SHOWN

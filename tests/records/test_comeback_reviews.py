"""A comeback is proposed when a job opens, and confirmed or refused by a person."""

from datetime import UTC, date, datetime, timedelta

import pytest

from garage.records.errors import RuleBroken
from garage.records.index_jobs import STRENGTH, comeback_proposals, strongest_of
from garage.records.models import AuditEntry, ComebackReview, Job, Vehicle
from garage.records.services.comeback_reviews import comeback_answer, comebacks_propose
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)


def job_at(vehicle: Vehicle, days_ago: int, km: int | None = None, **said) -> Job:
    day = TODAY - timedelta(days=days_ago)
    job = JobFactory(**({"vehicle": vehicle, "opened_on": day, "closed_on": day} | said))
    OperationFactory(job=job, kind="clean_off_vehicle")
    if km is not None:
        OdometerReadingFactory(vehicle=vehicle, job=job, read_on=day, typed=km, km=km)
    return job


@pytest.fixture
def now() -> Job:
    return job_at(VehicleFactory(), 0, km=120_000, closed_on=None)


def test_strongest_of_takes_the_first_of_the_list() -> None:
    assert strongest_of(["clear_codes", "replace"]) == "replace"
    assert strongest_of(["inspect"]) is None
    assert strongest_of(reversed([kind.value for kind in STRENGTH])) == "replace"


def test_comeback_is_proposed_with_how_long_and_how_far(now: Job) -> None:
    before = job_at(now.vehicle, 41, km=118_020)
    (proposal,) = comeback_proposals(job=now)
    assert (proposal.index_job, proposal.operation) == (before, "clean_off_vehicle")
    assert (proposal.after_days, proposal.after_km) == (41, 1_980)


@pytest.mark.parametrize(
    ("days_ago", "km", "proposed"),
    [
        (365, 110_000, True),
        (366, 110_000, False),
        (10, 100_000, True),
        (10, 99_999, False),
        (10, None, True),
    ],
)
def test_comeback_is_proposed_within_both_windows(
    now: Job, days_ago: int, km: int | None, proposed: bool
) -> None:
    job_at(now.vehicle, days_ago, km=km)
    assert bool(comeback_proposals(job=now)) is proposed


@pytest.mark.parametrize(
    "changed",
    [
        {"planned": True},
        {"closed_on": None},
        {"system": "brakes"},
        {"planned": None},
    ],
)
def test_comeback_is_not_proposed_of_what_is_no_index(now: Job, changed: dict) -> None:
    job_at(now.vehicle, 10, **changed)
    assert comeback_proposals(job=now) == []


def test_comeback_is_not_proposed_of_another_vehicle_or_organisation(now: Job) -> None:
    job_at(VehicleFactory(organisation=now.organisation), 10)
    job_at(now.vehicle, 10, organisation=VehicleFactory().organisation)
    assert comeback_proposals(job=now) == []
    job_at(now.vehicle, 10)
    assert len(comeback_proposals(job=now)) == 1


def test_comeback_is_not_proposed_for_a_planned_job(now: Job) -> None:
    job_at(now.vehicle, 10)
    now.planned = True
    assert comeback_proposals(job=now) == []


def test_comeback_is_answered_and_not_proposed_again(now: Job) -> None:
    job_at(now.vehicle, 10)
    (review,) = comebacks_propose(job=now, at=AT)
    assert comebacks_propose(job=now, at=AT) == [review]
    with pytest.raises(RuleBroken, match="refused for a reason"):
        comeback_answer(review=review, state="refused", at=AT)
    comeback_answer(review=review, state="refused", reason="a sensor hose", at=AT)
    assert comeback_proposals(job=now) == []
    kept = ComebackReview.objects.get()
    assert (kept.state, kept.reason) == ("refused", "a sensor hose")
    comeback_answer(review=review, state="confirmed", at=AT)
    assert ComebackReview.objects.get().state == "confirmed"
    assert AuditEntry.objects.filter(thing="comebackreview").count() == 2


def test_comeback_answer_is_one_of_two(now: Job) -> None:
    job_at(now.vehicle, 10)
    (review,) = comebacks_propose(job=now, at=AT)
    with pytest.raises(RuleBroken) as refused:
        comeback_answer(review=review, state="proposed", at=AT)
    assert refused.value.column == "state"

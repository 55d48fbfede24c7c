"""Jobs from the door to the till: opened, changed, closed, opened again."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from garage.records.choices import Cause, Role
from garage.records.errors import RuleBroken, RulesBroken
from garage.records.models import (
    AuditEntry,
    ComebackReview,
    Fitment,
    Job,
    LookMissed,
    OdometerReading,
    PartKind,
    Recheck,
    Vehicle,
)
from garage.records.policies import Closing
from garage.records.services.jobs import (
    JobFacts,
    NewJob,
    job_change,
    job_close,
    job_open,
    job_reopen,
)
from garage.records.services.looks import LookAnswer
from garage.records.services.operations import OperationFacts, operation_add
from tests.records.factories import JobFactory, MembershipFactory, VehicleFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
DAY = date(2026, 3, 2)
FACTS = JobFacts(
    "exhaust_aftertreatment",
    planned=False,
    complaint="lamp on",
    odometer=Decimal("141250"),
    unit="km",
)
NEW = NewJob(DAY, FACTS)
FOUND = Closing(DAY, cause="injection")


@pytest.fixture
def vehicle() -> Vehicle:
    return VehicleFactory()


@pytest.fixture
def job(vehicle: Vehicle) -> Job:
    return job_open(vehicle=vehicle, new=NEW, at=AT)


def the_filter() -> PartKind:
    return PartKind.objects.get(code="particulate_filter")


def done(job: Job, operation: str = "replace", **more) -> None:
    facts = OperationFacts(operation, part_kind=the_filter(), **more)
    operation_add(job=job, facts=facts, at=AT)


# --- Opening ---


def test_a_job_opened_has_its_reading_and_a_reference_of_its_day(vehicle: Vehicle) -> None:
    first = job_open(vehicle=vehicle, new=NEW, at=AT)
    second = job_open(vehicle=vehicle, new=NEW, at=AT)
    assert (first.ref, second.ref) == ("260302-1", "260302-2")
    reading = OdometerReading.objects.get(job=first)
    assert (reading.km, reading.source, reading.read_on) == (141_250, "job", DAY)
    assert AuditEntry.objects.filter(verb="add", thing="job", thing_id=first.pk).count() == 1


def test_a_reference_made_passes_over_those_that_are_taken(vehicle: Vehicle) -> None:
    JobFactory(vehicle=vehicle, ref="260302-1")
    JobFactory(vehicle=vehicle, ref="260302-x")
    assert job_open(vehicle=vehicle, new=NEW, at=AT).ref == "260302-2"


def test_whoever_opens_it_works_on_it(vehicle: Vehicle) -> None:
    member = MembershipFactory(organisation=vehicle.organisation, role=Role.TECHNICIAN).user
    assert job_open(vehicle=vehicle, new=NEW, at=AT, by=member).technician_id == member.pk


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"ref": "taken"}, "ref"),
        ({"ref": "x" * 61}, "ref"),
        ({"opened_on": date(2026, 5, 1)}, "opened_on"),
        ({"facts": replace(FACTS, system="plumbing")}, "system"),
        ({"facts": replace(FACTS, complaint="x" * 301)}, "complaint"),
        ({"facts": replace(FACTS, repaired_elsewhere=("plumbing",))}, "repaired_elsewhere"),
        ({"facts": replace(FACTS, odometer=Decimal(-1))}, "odometer"),
        ({"facts": replace(FACTS, unit="")}, "unit"),
        ({"facts": replace(FACTS, technician_id=10**6)}, "technician_id"),
        ({"facts": replace(FACTS, cause="fate")}, "cause"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(
    vehicle: Vehicle, changed: dict, column: str
) -> None:
    JobFactory(vehicle=vehicle, ref="taken")
    with pytest.raises(RuleBroken) as refused:
        job_open(vehicle=vehicle, new=replace(NEW, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert Job.objects.count() == 1


def test_all_faults_are_named_at_once(vehicle: Vehicle) -> None:
    facts = replace(FACTS, system="plumbing", unit="furlong", complaint="x" * 301)
    with pytest.raises(RulesBroken) as refused:
        job_open(vehicle=vehicle, new=NewJob(date(2030, 1, 1), facts), at=AT)
    named = {each.column for each in refused.value.broken}
    assert named == {"opened_on", "system", "complaint", "unit"}


def test_a_refused_look_leaves_no_job_behind(vehicle: Vehicle) -> None:
    look = LookAnswer(the_filter(), "perhaps")
    with pytest.raises(RuleBroken, match="same, another"):
        job_open(vehicle=vehicle, new=replace(NEW, looks=(look,)), at=AT)
    assert not Job.objects.exists()


@pytest.mark.parametrize(("answer", "missed"), [("same", 0), ("another", 0), ("not_looked", 1)])
def test_looks_are_kept_with_the_job(vehicle: Vehicle, answer: str, missed: int) -> None:
    look = LookAnswer(the_filter(), answer)
    job = job_open(vehicle=vehicle, new=replace(NEW, looks=(look,)), at=AT)
    assert LookMissed.objects.count() == missed
    assert job.operations.filter(found_in_place=answer).count() == 1 - missed


def test_a_part_stated_on_arrival_is_known(vehicle: Vehicle) -> None:
    stated = OperationFacts("inspect", part_kind=the_filter(), part_origin="reconditioned")
    job = job_open(vehicle=vehicle, new=replace(NEW, operations=(stated,)), at=AT)
    assert Fitment.objects.get(fitted_at=job).origin == "reconditioned"


def test_a_comeback_is_proposed_on_opening(vehicle: Vehicle) -> None:
    first = job_open(vehicle=vehicle, new=NEW, at=AT)
    done(first)
    job_close(job=first, closing=FOUND, at=AT)
    later = replace(NEW, opened_on=date(2026, 4, 20))
    second = job_open(vehicle=vehicle, new=later, at=datetime(2026, 4, 20, tzinfo=UTC))
    (review,) = ComebackReview.objects.all()
    assert (review.job, review.index_job, review.state) == (second, first, "proposed")


# --- Changing ---


def test_only_what_changed_is_written(job: Job) -> None:
    before = AuditEntry.objects.count()
    job_change(job=job, facts=FACTS, at=AT)
    assert AuditEntry.objects.count() == before
    job_change(job=job, facts=replace(FACTS, trouble_codes="p2002  p0401"), at=AT)
    job.refresh_from_db()
    assert (job.trouble_codes, job.complaint) == ("P2002 P0401", "lamp on")
    assert set(AuditEntry.objects.latest("serial").changes) == {"trouble_codes"}


def test_an_odometer_may_come_later_and_then_stands(vehicle: Vehicle) -> None:
    unread = replace(FACTS, odometer=None, unit="")
    job = job_open(vehicle=vehicle, new=replace(NEW, facts=unread), at=AT)
    job_change(job=job, facts=FACTS, at=AT)
    assert OdometerReading.objects.get(job=job).km == 141_250
    job_change(job=job, facts=unread, at=AT)
    with pytest.raises(RuleBroken, match="stays as it was typed"):
        job_change(job=job, facts=replace(FACTS, odometer=Decimal(14_125)), at=AT)
    assert OdometerReading.objects.get(job=job).km == 141_250


def test_who_was_asked_stays_asked(job: Job) -> None:
    job_change(job=job, facts=replace(FACTS, repaired_elsewhere=()), at=AT)
    job_change(job=job, facts=FACTS, at=AT)
    job.refresh_from_db()
    assert job.repaired_elsewhere == []


def test_a_closed_job_is_not_changed(job: Job) -> None:
    job_close(job=job, closing=Closing(DAY, findings="nothing amiss"), at=AT)
    with pytest.raises(RuleBroken, match="open job can be changed"):
        job_change(job=job, facts=replace(FACTS, complaint="none"), at=AT)
    with pytest.raises(RuleBroken, match="open job can be changed"):
        done(job)


# --- Closing ---


@pytest.mark.parametrize("operation", ["replace", "clean_off_vehicle", "clean_on_vehicle"])
@pytest.mark.parametrize("cause", ["not_found", "wear"])
def test_a_filter_operation_is_closed_with_a_cause_only(
    job: Job, operation: str, cause: str
) -> None:
    done(job, operation)
    with pytest.raises(RuleBroken) as refused:
        job_close(job=job, closing=replace(FOUND, cause=""), at=AT)
    assert refused.value.column == "cause"
    job_close(job=job, closing=replace(FOUND, cause=cause), at=AT)
    job.refresh_from_db()
    assert (job.cause, job.closed_on) == (cause, DAY)


def test_other_operations_need_no_cause(job: Job) -> None:
    done(job, "clear_codes")
    job_close(job=job, closing=replace(FOUND, cause=""), at=AT)
    turbo = PartKind.objects.get(code="turbocharger")
    other = job_open(vehicle=job.vehicle, new=NEW, at=AT)
    operation_add(job=other, facts=OperationFacts("replace", part_kind=turbo), at=AT)
    job_close(job=other, closing=replace(FOUND, cause=""), at=AT)


def test_nothing_done_says_what_was_found(job: Job) -> None:
    with pytest.raises(RuleBroken) as refused:
        job_close(job=job, closing=Closing(DAY, findings="  "), at=AT)
    assert refused.value.column == "findings"
    job_close(job=job, closing=Closing(DAY, findings="no fault found"), at=AT)


def test_another_cause_has_a_name(job: Job) -> None:
    done(job)
    other = Closing(DAY, cause=Cause.OTHER)
    with pytest.raises(RuleBroken) as refused:
        job_close(job=job, closing=other, at=AT)
    assert refused.value.column == "cause_note"
    job_close(job=job, closing=replace(other, cause_note="mud in the intake"), at=AT)


def test_a_job_is_not_closed_before_it_was_opened_nor_twice(job: Job) -> None:
    done(job)
    with pytest.raises(RuleBroken) as refused:
        job_close(job=job, closing=replace(FOUND, closed_on=date(2026, 3, 1)), at=AT)
    assert refused.value.column == "closed_on"
    job_close(job=job, closing=FOUND, at=AT)
    with pytest.raises(RuleBroken, match="open job can be closed"):
        job_close(job=job, closing=FOUND, at=AT)


def test_closing_makes_a_recheck_due_and_the_part_is_known(job: Job) -> None:
    done(job, part_origin="new_aftermarket", part_mark="P 17", removed_because="failed")
    job_close(job=job, closing=FOUND, at=AT)
    assert Recheck.objects.get(job=job).due_km == 141_550
    fitted = Fitment.objects.get(fitted_at=job, removed_at=None)
    assert (fitted.origin, fitted.fitted_km) == ("new_aftermarket", 141_250)


def test_a_clearing_of_codes_alone_is_a_clearing(job: Job) -> None:
    done(job, "clear_codes")
    job_close(job=job, closing=Closing(DAY), at=AT)
    assert not Fitment.objects.exclude(start="factory").exists()
    assert Recheck.objects.filter(job=job).exists()


# --- Opening again ---


def test_opened_again_it_can_be_changed_and_its_recheck_waits(job: Job) -> None:
    done(job)
    job_close(job=job, closing=FOUND, at=AT)
    with pytest.raises(RuleBroken, match="for a reason"):
        job_reopen(job=job, reason=" ", at=AT)
    reopened = job_reopen(job=job, reason="wrong part named", at=AT)
    assert reopened.closed_on is None
    assert not Recheck.objects.filter(job=job).exists()
    job_close(job=job, closing=FOUND, at=AT)
    assert Recheck.objects.filter(job=job).exists()


def test_an_open_job_is_not_opened_again(job: Job) -> None:
    with pytest.raises(RuleBroken, match="closed job can be opened"):
        job_reopen(job=job, reason="wrong part named", at=AT)

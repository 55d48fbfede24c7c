"""Rechecks become due after filter operations, and end by a later job or a reason."""

from datetime import UTC, date, datetime

import pytest

from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Job, Recheck
from garage.records.permissions import Scope
from garage.records.rechecks import rechecks_due
from garage.records.services.rechecks import recheck_begin, recheck_done, recheck_waive
from tests.records.cast import cast_make
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CLOSED = date(2026, 3, 1)


def scope_of(recheck: Recheck) -> Scope:
    return Scope(frozenset({recheck.job.organisation_id}))


def job_with(kind: str, *, km: int | None = 120_000, system: str = "exhaust_aftertreatment") -> Job:
    cast = cast_make()
    vehicle = VehicleFactory(organisation=cast.alder)
    job = JobFactory(vehicle=vehicle, opened_on=CLOSED, closed_on=CLOSED, system=system)
    OperationFactory(job=job, kind=kind, system=system)
    if km is not None:
        OdometerReadingFactory(vehicle=vehicle, job=job, read_on=CLOSED, typed=km, km=km)
    return job


def begun(kind: str = "replace", **said) -> Recheck:
    recheck = recheck_begin(job=job_with(kind, **said), at=AT)
    assert recheck is not None
    return recheck


@pytest.mark.parametrize(
    "kind",
    ["replace", "clean_off_vehicle", "clean_on_vehicle", "regenerate_driving", "clear_codes"],
)
def test_recheck_is_due_after_a_filter_operation(kind: str) -> None:
    recheck = begun(kind)
    assert (recheck.due_on, recheck.due_km) == (date(2026, 3, 8), 120_300)


@pytest.mark.parametrize(
    ("kind", "system"), [("inspect", "exhaust_aftertreatment"), ("replace", "brakes")]
)
def test_recheck_is_not_due_after_other_work(kind: str, system: str) -> None:
    assert recheck_begin(job=job_with(kind, system=system), at=AT) is None


def test_recheck_is_not_due_after_an_open_job() -> None:
    job = job_with("replace")
    job.closed_on = None
    assert recheck_begin(job=job, at=AT) is None


def test_recheck_follows_the_organisations_own_terms() -> None:
    job = job_with("replace", km=None)
    job.organisation.recheck_days, job.organisation.recheck_km = 14, 500
    recheck = recheck_begin(job=job, at=AT)
    assert recheck is not None
    assert (recheck.due_on, recheck.due_km) == (date(2026, 3, 15), None)


def test_recheck_of_a_job_closed_again_is_renewed_while_it_waits() -> None:
    recheck = begun()
    job = recheck.job
    job.closed_on = date(2026, 3, 3)
    renewed = recheck_begin(job=job, at=AT)
    assert renewed is not None
    assert (renewed.pk, renewed.due_on) == (recheck.pk, date(2026, 3, 10))
    recheck_waive(recheck=recheck, reason="sold", at=AT)
    job.closed_on = date(2026, 3, 5)
    ended = recheck_begin(job=job, at=AT)
    assert ended is not None
    assert (ended.state, ended.due_on) == ("waived", date(2026, 3, 10))


def test_recheck_is_done_by_a_later_job() -> None:
    recheck = begun()
    later = JobFactory(vehicle=recheck.job.vehicle, opened_on=date(2026, 3, 7))
    done = recheck_done(recheck=recheck, done_at=later, at=AT)
    assert (done.state, done.done_at, done.ended_on) == ("done", later, date(2026, 3, 7))
    assert AuditEntry.objects.filter(thing="recheck").count() == 2
    with pytest.raises(RuleBroken, match="that waits"):
        recheck_waive(recheck=recheck, reason="late", at=AT)


def test_recheck_is_not_done_by_its_own_job_another_vehicles_or_an_earlier_one() -> None:
    recheck = begun()
    earlier = JobFactory(vehicle=recheck.job.vehicle, opened_on=date(2026, 2, 1))
    for wrong in (recheck.job, JobFactory(opened_on=date(2026, 3, 7)), earlier):
        with pytest.raises(RuleBroken) as refused:
            recheck_done(recheck=recheck, done_at=wrong, at=AT)
        assert refused.value.column == "done_at"


def test_recheck_is_waived_only_for_a_reason() -> None:
    with pytest.raises(RuleBroken, match="for a reason"):
        recheck_waive(recheck=begun(), reason=" ", at=AT)


def test_rechecks_due_say_what_is_overdue_by_day_and_by_distance() -> None:
    recheck = begun()
    scope = scope_of(recheck)
    (waits,) = rechecks_due(scope=scope, as_of=date(2026, 3, 8))
    assert (waits.overdue_days, waits.over_km, waits.is_overdue) == (0, 0, False)
    (late,) = rechecks_due(scope=scope, as_of=date(2026, 3, 10))
    assert (late.overdue_days, late.is_overdue) == (2, True)
    OdometerReadingFactory(
        vehicle=recheck.job.vehicle, read_on=date(2026, 3, 4), typed=121_000, km=121_000
    )
    (far,) = rechecks_due(scope=scope, as_of=date(2026, 3, 5))
    assert (far.overdue_days, far.over_km, far.is_overdue) == (0, 700, True)


def test_rechecks_due_without_an_odometer_do_not_know_the_distance() -> None:
    recheck = begun(km=None)
    (waits,) = rechecks_due(scope=scope_of(recheck), as_of=date(2026, 3, 5))
    assert waits.over_km is None


def test_rechecks_of_another_organisation_are_not_seen() -> None:
    begun()
    assert rechecks_due(scope=Scope(frozenset({0})), as_of=date(2026, 4, 1)) == []

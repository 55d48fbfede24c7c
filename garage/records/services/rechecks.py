"""Make rechecks due after filter operations, and end them."""

from datetime import date, datetime, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, RecheckState, System
from garage.records.errors import RuleBroken
from garage.records.index_jobs import strongest_of
from garage.records.models import Job, OdometerReading, Organisation, Recheck
from garage.records.services.audit import Change, audit_record

#: Four times the usual term. Judgement.
STILL_RECHECKED = timedelta(days=28)


def recheck_begin(*, job: Job, at: datetime, by: AbstractBaseUser | None = None) -> Recheck | None:
    """Make a recheck due after a closed job with a filter operation; None where it had none.

    Due after the organisation's own days and km. A job closed again renews a recheck that waits;
    one that was done or waived stays ended.
    """
    operation = strongest_of(
        job.operations.filter(system=System.EXHAUST_AFTERTREATMENT).values_list("kind", flat=True)
    )
    if job.closed_on is None or operation is None:
        return None
    organisation = job.organisation
    km = OdometerReading.objects.filter(job=job, doubt="").values_list("km", flat=True).first()
    due = {
        "due_on": job.closed_on + timedelta(days=organisation.recheck_days),
        "due_km": None if km is None else km + organisation.recheck_km,
    }
    with transaction.atomic():
        recheck, created = Recheck.objects.select_for_update().get_or_create(job=job, defaults=due)
        if recheck.state != RecheckState.DUE:
            return recheck
        changes = {
            name: [None if created else getattr(recheck, name), value]
            for name, value in due.items()
            if created or getattr(recheck, name) != value
        }
        if changes:
            Recheck.objects.filter(pk=recheck.pk).update(**due)
            recheck.due_on, recheck.due_km = due["due_on"], due["due_km"]  # type: ignore[assignment]
            audit_record(
                organisation=organisation,
                change=Change(AuditVerb.ADD if created else AuditVerb.CHANGE, recheck, changes),
                by=by,
                at=at,
            )
    return recheck


def rechecks_begin(*, organisation: Organisation, as_of: date, at: datetime) -> int:
    """Make rechecks due after the organisation's newly closed jobs; how many are due
    by it.

    A job closed longer ago than STILL_RECHECKED is history: nobody calls its keeper back.
    """
    fresh = Job.objects.filter(
        organisation=organisation,
        closed_on__gt=as_of - STILL_RECHECKED,
        closed_on__lte=as_of,
        operations__system=System.EXHAUST_AFTERTREATMENT,
        recheck__isnull=True,
    ).distinct()
    begun = [recheck_begin(job=job, at=at) for job in fresh.order_by("closed_on", "pk")]
    return sum(recheck is not None for recheck in begun)


def recheck_done(
    *, recheck: Recheck, done_at: Job, at: datetime, by: AbstractBaseUser | None = None
) -> Recheck:
    """The recheck was made at this later job of the same vehicle."""
    if done_at.vehicle_id != recheck.job.vehicle_id or done_at.pk == recheck.job_id:
        raise RuleBroken(
            "a recheck is made at another job of the same vehicle",
            got="the same job" if done_at.pk == recheck.job_id else "a job of another vehicle",
            do="Open a job for the recheck, and name that.",
            column="done_at",
        )
    closed_on = recheck.job.closed_on
    if closed_on is not None and done_at.opened_on < closed_on:
        raise RuleBroken(
            f"a recheck comes after the job it follows, closed on {closed_on}",
            got=done_at.opened_on,
            do="Name a later job.",
            column="done_at",
        )
    values = {"state": RecheckState.DONE, "done_at": done_at, "ended_on": done_at.opened_on}
    return _end(recheck, values, at=at, by=by)


def recheck_waive(
    *, recheck: Recheck, reason: str, at: datetime, by: AbstractBaseUser | None = None
) -> Recheck:
    """No recheck will be made, for this reason."""
    if not reason.strip():
        raise RuleBroken(
            "a recheck is waived for a reason", got="none", do="Say why.", column="reason"
        )
    values = {
        "state": RecheckState.WAIVED,
        "reason": reason.strip()[:300],
        "ended_on": at.date(),
    }
    return _end(recheck, values, at=at, by=by)


def _end(
    recheck: Recheck,
    values: dict[str, object],
    *,
    at: datetime,
    by: AbstractBaseUser | None,
) -> Recheck:
    with transaction.atomic():
        row = Recheck.objects.select_for_update().select_related("job").get(pk=recheck.pk)
        if row.state != RecheckState.DUE:
            raise RuleBroken(
                "a recheck that waits can be ended",
                got=f"one that is {row.get_state_display()}",
                do="Look at it again; someone may have ended it.",
                column="state",
            )
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))
        audit_record(
            organisation=row.job.organisation,
            change=Change(AuditVerb.CHANGE, row, {"state": [RecheckState.DUE, row.state]}),
            by=by,
            at=at,
        )
    return row

"""Open, change, close and open again the jobs of a vehicle."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, ReadingSource, RecheckState, System
from garage.records.distance import to_km
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import Job, Membership, OdometerReading, Organisation, Recheck, Vehicle
from garage.records.policies import Closing, closing_broken, job_open_check
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.services.claims import claims_open
from garage.records.services.comeback_reviews import comebacks_propose
from garage.records.services.looks import LookAnswer, look_record
from garage.records.services.operations import OperationFacts, operation_add
from garage.records.services.rechecks import recheck_begin
from garage.records.services.settle import vehicles_changed
from garage.records.texts import text_needed
from garage.records.typed import day_check, distance_check, fields_broken

_REF_CHARACTERS = 60
_REASON_CHARACTERS = 300
_WORDS = ("complaint", "trouble_codes", "findings", "cause_note")
#: Facts that are kept on the job's row as they are.
_KEPT = ("system", "planned", *_WORDS, "cause")


@dataclass(frozen=True)
class JobFacts:
    """What is known of a job and may be changed while it is open.

    `repaired_elsewhere` None: the keeper was not asked. `odometer` is as shown, in `unit`.
    `technician_id` None: nobody in particular; at opening: whoever opens it.
    """

    system: str
    planned: bool | None = None
    complaint: str = ""
    trouble_codes: str = ""
    repaired_elsewhere: tuple[str, ...] | None = None
    findings: str = ""
    cause: str = ""
    cause_note: str = ""
    odometer: Decimal | None = None
    unit: str = ""
    technician_id: int | None = None


@dataclass(frozen=True)
class NewJob:
    """A vehicle that came in; an empty `ref` is given one made of the day.

    `looks` say whether the parts in place are those last recorded, `operations` what is known to
    be done already, such as an inspection that states which part is in place.
    """

    opened_on: date
    facts: JobFacts
    ref: str = ""
    looks: tuple[LookAnswer, ...] = ()
    operations: tuple[OperationFacts, ...] = ()


def job_open(
    *, vehicle: Vehicle, new: NewJob, at: datetime, by: AbstractBaseUser | None = None
) -> Job:
    """Open a job: its facts, its odometer, the looks at the parts in place; comebacks it may be
    are proposed. RuleBroken names every fault at once, and nothing is recorded then."""
    facts = new.facts
    job = Job(vehicle=vehicle, organisation=vehicle.organisation, opened_on=new.opened_on)
    with transaction.atomic():
        Organisation.objects.select_for_update().only("pk").get(pk=vehicle.organisation_id)
        job.ref = " ".join(new.ref.split()) or _ref_made(job)
        _take(job, facts)
        if facts.technician_id is None and by is not None:
            job.technician_id = by.pk
        refuse_all(
            [
                *broken_by(lambda: day_check("opened_on", new.opened_on, at)),
                *_facts_broken(job, facts),
                *broken_by(lambda: _ref_check(job)),
            ]
        )
        job.save(force_insert=True)
        _read(job, facts)
        vehicles_changed(vehicle_ids=[vehicle.pk], at=at)
        audit_record(
            organisation=job.organisation,
            change=Change(AuditVerb.ADD, job, {"opened_on": [None, job.opened_on]}),
            by=by,
            at=at,
        )
        for look in new.looks:
            look_record(job=job, look=look, at=at, by=by)
        for operation in new.operations:
            operation_add(job=job, facts=operation, at=at, by=by)
        comebacks_propose(job=job, at=at)
    return job


def job_change(
    *, job: Job, facts: JobFacts, at: datetime, by: AbstractBaseUser | None = None
) -> Job:
    """Change the facts of an open job; those left as they were write nothing.

    An odometer that was read stands: it is decided on where readings are decided on.
    """
    with transaction.atomic():
        row = _locked(job)
        job_open_check(row)
        before = _told(row)
        _take(row, facts)
        refuse_all(_facts_broken(row, facts))
        changes = changes_between(before, _told(row))
        was_read = _read(row, facts)
        if changes:
            row.save(update_fields=list(changes))
        if changes or was_read:
            vehicles_changed(vehicle_ids=[row.vehicle_id], at=at)
            comebacks_propose(job=row, at=at)
            audit_record(
                organisation=row.organisation,
                change=Change(AuditVerb.CHANGE, row, changes),
                by=by,
                at=at,
            )
    return row


def job_close(
    *, job: Job, closing: Closing, at: datetime, by: AbstractBaseUser | None = None
) -> Job:
    """Close a job: from now on it counts. A recheck falls due after a filter operation, and claims
    open where a part failed within its warranty. RuleBroken names every fault at once."""
    with transaction.atomic():
        row = _locked(job)
        operations = list(row.operations.select_related("part_kind"))
        broken = list(closing_broken(row, operations, closing))
        before = _told(row)
        row.findings, row.cause = closing.findings.strip(), closing.cause
        row.cause_note = " ".join(closing.cause_note.split())
        broken += broken_by(lambda: day_check("closed_on", closing.closed_on, at))
        broken += fields_broken(row, ("findings", "cause", "cause_note"))
        refuse_all(broken)
        row.closed_on = closing.closed_on
        row.save(update_fields=["findings", "cause", "cause_note", "closed_on"])
        changes = changes_between(before, _told(row)) | {"closed_on": [None, row.closed_on]}
        vehicles_changed(vehicle_ids=[row.vehicle_id], at=at)
        audit_record(
            organisation=row.organisation,
            change=Change(AuditVerb.CLOSE, row, changes),
            by=by,
            at=at,
        )
        recheck_begin(job=row, at=at, by=by)
        claims_open(vehicle_ids=[row.vehicle_id], at=at, by=by)
    return row


def job_reopen(*, job: Job, reason: str, at: datetime, by: AbstractBaseUser | None = None) -> Job:
    """Open a closed job again, for a reason; a recheck that waits goes until it is closed.

    The reason stays in the audit trail for good: it names nobody.
    """
    why = text_needed(
        reason,
        column="reason",
        most=_REASON_CHARACTERS,
        rule="a job is opened again for a reason of",
        do="Say what has to be put right.",
    )
    with transaction.atomic():
        row = _locked(job)
        if row.closed_on is None:
            raise RuleBroken(
                "a closed job can be opened again",
                got="an open one",
                do="Look at it again; someone may have opened it.",
            )
        closed_on, row.closed_on = row.closed_on, None
        row.save(update_fields=["closed_on"])
        Recheck.objects.filter(job=row, state=RecheckState.DUE).delete()
        vehicles_changed(vehicle_ids=[row.vehicle_id], at=at)
        audit_record(
            organisation=row.organisation,
            change=Change(AuditVerb.REOPEN, row, {"closed_on": [closed_on, None]}, why),
            by=by,
            at=at,
        )
    return row


def _locked(job: Job) -> Job:
    rows = Job.objects.select_for_update(of=("self",)).select_related("organisation", "vehicle")
    return rows.get(pk=job.pk)


def _take(job: Job, facts: JobFacts) -> None:
    for name in _KEPT:
        value: Any = getattr(facts, name)
        if name in _WORDS:
            value = value.strip()
        setattr(job, name, value)
    job.trouble_codes = " ".join(facts.trouble_codes.upper().split())
    if facts.repaired_elsewhere is not None:
        job.repaired_elsewhere = sorted(set(facts.repaired_elsewhere))
    job.technician_id = facts.technician_id


def _told(job: Job) -> dict[str, Any]:
    names = (*_KEPT, "repaired_elsewhere", "technician_id")
    return {name: getattr(job, name) for name in names}


def _facts_broken(job: Job, facts: JobFacts) -> Iterator[RuleBroken]:
    yield from fields_broken(job, ("ref", "system", *_WORDS, "cause"))
    unknown = set(facts.repaired_elsewhere or ()) - set(System.values)
    if unknown:
        yield RuleBroken(
            f"systems are some of {', '.join(System.values)}",
            got=", ".join(sorted(unknown)),
            do="Name the systems that were repaired elsewhere, or none.",
            column="repaired_elsewhere",
        )
    if facts.odometer is not None:
        typed, unit = facts.odometer, facts.unit
        yield from broken_by(lambda: distance_check("odometer", typed, unit))
        yield from broken_by(lambda: _odometer_stands(job, typed, unit))
    members = Membership.objects.filter(organisation=job.organisation)
    if job.technician_id is not None and not members.filter(user_id=job.technician_id).exists():
        yield RuleBroken(
            "a technician is a member of the organisation",
            got=job.technician_id,
            do="Choose one of its members.",
            column="technician_id",
        )


def _odometer_stands(job: Job, typed: Decimal, unit: str) -> None:
    before = None if job.pk is None else OdometerReading.objects.filter(job=job).first()
    if before is not None and (before.typed, before.unit) != (typed, unit):
        raise RuleBroken(
            f"a reading that was written stays as it was typed, {before.typed} {before.unit}",
            got=f"{typed} {unit}",
            do="Mend it on the vehicle's odometer page, where the decision is kept beside it.",
            column="odometer",
        )


def _read(job: Job, facts: JobFacts) -> bool:
    """Keep the job's odometer reading; whether there was one to keep."""
    if facts.odometer is None or OdometerReading.objects.filter(job=job).exists():
        return False
    OdometerReading.objects.create(
        vehicle=job.vehicle,
        job=job,
        read_on=job.opened_on,
        typed=facts.odometer,
        unit=facts.unit,
        source=ReadingSource.JOB,
        km=to_km(facts.odometer, facts.unit),
    )
    return True


def _ref_made(job: Job) -> str:
    """The first free reference of the day, such as 260302-1."""
    day = f"{job.opened_on:%y%m%d}"
    taken = set(
        Job.objects.filter(
            organisation_id=job.organisation_id, ref__startswith=f"{day}-"
        ).values_list("ref", flat=True)
    )
    return next(ref for n in range(1, len(taken) + 2) if (ref := f"{day}-{n}") not in taken)


def _ref_check(job: Job) -> None:
    same = Job.objects.filter(organisation_id=job.organisation_id, ref=job.ref).first()
    if same is not None:
        raise RuleBroken(
            "one reference names one job",
            got=f"{job.ref}, the job of {same.opened_on}",
            do="Leave it empty to have one made, or open that job.",
            column="ref",
        )

"""Write what was found at a job, what it proved to be, and cautions that somebody confirmed."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.findings.procedures import procedure
from garage.evidence.findings.vocabulary import Finding, vocabulary
from garage.evidence.jobs.evidence import graded_on_arrival
from garage.records.choices import AuditVerb, EvidenceList, JobPhase
from garage.records.errors import RuleBroken
from garage.records.models import CautionConfirmed, FindingSeen, Job, OutcomeConfirmed
from garage.records.services.audit import Change, audit_record
from garage.records.texts import refuse_long, text_needed

_NOTE_CHARACTERS = 200
_NAME_CHARACTERS = 80


@dataclass(frozen=True)
class FindingSaid:
    """A finding and its state, by the names of the vocabulary."""

    finding: str
    state: str
    phase: str = JobPhase.ARRIVAL
    note: str = ""


def finding_record(
    *, job: Job, said: FindingSaid, at: datetime, by: AbstractBaseUser | None = None
) -> FindingSeen:
    """Keep what was found; a later answer of the same phase takes the place of an earlier one.

    Refused before the cautions of its procedure were confirmed at this job.
    """
    finding = _known(said)
    if finding.needs is not None and not _confirmed(job, finding.needs):
        raise RuleBroken(
            f"the cautions of “{procedure(finding.needs).title}” are confirmed before the step",
            got="not confirmed at this job",
            do="Read them under “Before the step”, and confirm them with your name.",
            column="finding",
        )
    note = " ".join(said.note.split())
    refuse_long("note", note, _NOTE_CHARACTERS)
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        before = job.findings_seen.filter(phase=said.phase, finding=said.finding).first()
        kept, _ = FindingSeen.objects.update_or_create(
            job=job,
            phase=said.phase,
            finding=said.finding,
            defaults={
                "state": said.state,
                "note": note,
                "seen_at": at,
                "seen_by_id": None if by is None else by.pk,
            },
        )
        was = None if before is None else before.state
        verb = AuditVerb.ADD if before is None else AuditVerb.CHANGE
        audit_record(
            organisation=job.organisation,
            change=Change(verb, kept, {said.finding: [was, said.state]}),
            by=by,
            at=at,
        )
    return kept


def finding_take_back(
    *, seen: FindingSeen, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Take back what was said by mistake: it is not known again. Taken back already stays so."""
    was = {seen.finding: [seen.state, None]}
    gone = Change(AuditVerb.REMOVE, FindingSeen(pk=seen.pk), was)
    with transaction.atomic():
        deleted, _ = FindingSeen.objects.filter(pk=seen.pk).delete()
        if deleted:
            audit_record(organisation=seen.job.organisation, change=gone, by=by, at=at)


def caution_confirm(
    *, job: Job, procedure_key: str, name: str, at: datetime, by: AbstractBaseUser | None = None
) -> CautionConfirmed:
    """Keep that somebody read the cautions of a procedure, by name."""
    try:
        procedure(procedure_key)
    except ValueError as unknown:
        raise RuleBroken(
            "cautions are those of a known procedure",
            got=procedure_key,
            do="Choose it on the job's evidence page.",
            column="procedure",
        ) from unknown
    who = text_needed(
        name,
        column="name",
        most=_NAME_CHARACTERS,
        rule="who confirms has a name of",
        do="Type your name.",
    )
    with transaction.atomic():
        kept = CautionConfirmed.objects.create(
            job=job,
            procedure=procedure_key,
            name=who,
            confirmed_at=at,
            confirmed_by_id=None if by is None else by.pk,
        )
        audit_record(
            organisation=job.organisation,
            change=Change(AuditVerb.SIGN, kept, {"procedure": [None, procedure_key]}),
            by=by,
            at=at,
        )
    return kept


def outcome_confirm(
    *, job: Job, of: str, state: str, at: datetime, by: AbstractBaseUser | None = None
) -> OutcomeConfirmed:
    """Keep what it proved to be, by one of the three lists, beside what readings and codes of the
    arrival said by then; from this the likelihoods learn."""
    if of not in EvidenceList.values or state not in vocabulary().states(of):
        known = ", ".join(vocabulary().states(of)) if of in EvidenceList.values else ""
        raise RuleBroken(
            f"an outcome is one of {known or ', '.join(EvidenceList.values)}",
            got=state if known else of,
            do="Choose from the list.",
            column="state" if known else "list",
        )
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        before = job.outcomes_confirmed.filter(list=of).first()
        kept, _ = OutcomeConfirmed.objects.update_or_create(
            job=job,
            list=of,
            defaults={
                "state": state,
                "graded": graded_on_arrival(job=job),
                "confirmed_at": at,
                "confirmed_by_id": None if by is None else by.pk,
            },
        )
        was = None if before is None else before.state
        verb = AuditVerb.ADD if before is None else AuditVerb.CHANGE
        audit_record(
            organisation=job.organisation,
            change=Change(verb, kept, {of: [was, state]}),
            by=by,
            at=at,
        )
    return kept


def _known(said: FindingSaid) -> Finding:
    if said.phase not in JobPhase.values:
        raise RuleBroken(
            f"a finding is made at one of {', '.join(JobPhase.values)}",
            got=said.phase,
            do="Say when.",
            column="phase",
        )
    words = vocabulary()
    known_findings = words.keys()
    if said.finding not in known_findings:
        raise RuleBroken(
            "a finding is one that the evidence knows",
            got=said.finding,
            do="Choose from the list.",
            column="finding",
        )
    finding = words.finding(said.finding)
    known = [state for state, _ in finding.states]
    if said.state not in known:
        raise RuleBroken(
            f"{finding.title} is one of {', '.join(known)}",
            got=said.state,
            do="Say which.",
            column="state",
        )
    return finding


def _confirmed(job: Job, procedure_key: str) -> bool:
    return job.cautions_confirmed.filter(procedure=procedure_key).exists()

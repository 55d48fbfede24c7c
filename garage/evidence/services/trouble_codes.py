"""Write the trouble codes that were read at a job, their status, and that none were stored."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.codes.heavy import HeavyCode
from garage.evidence.codes.line import REPEATED, CodeInLine, Line, PartUnread, parse_line
from garage.evidence.codes.meanings import grouped
from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.own_wordings import own_meanings
from garage.evidence.refused import broken_from
from garage.evidence.services.findings import FindingSaid, finding_record
from garage.records.choices import AuditVerb, CodeScheme, CodeState, JobPhase
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import FindingSeen, Job, TroubleCodeRead
from garage.records.services.audit import Change, audit_record
from garage.records.texts import refuse_long

_ECU_CHARACTERS = 40
_BYTE_MOST = 255
_ABSENT = "absent"


@dataclass(frozen=True)
class LineTyped:
    """Codes as they were typed into one line, when they were read and from which controller."""

    text: str
    phase: str = JobPhase.ARRIVAL
    ecu: str = ""


@dataclass(frozen=True)
class _Planned:
    """A code of the line and its row: one that is kept already, or a new one."""

    code: CodeInLine
    row: TroubleCodeRead
    before: dict[str, object] = field(default_factory=dict)


def codes_record(
    *, job: Job, said: LineTyped, at: datetime, by: AbstractBaseUser | None = None
) -> list[TroubleCodeRead]:
    """Keep the codes of a line; one that was kept before is brought up to date.

    All or nothing: RuleBroken names every part of the line that is no code, and why. Findings of
    the phase that say there was no code of such a group are taken back.
    """
    line = _line(said)
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        planned: list[_Planned] = []
        for code in line.codes:
            planned.append(_planned(job, code, said, [each.row for each in planned]))
        refuse_all(_cleared(planned))
        for each in planned:
            each.row.read_at = at
            each.row.save()
            audit_record(organisation=job.organisation, change=_change(each), by=by, at=at)
        kept = list({each.row.pk: each.row for each in planned}.values())
        _absence_take_back(job, kept, at=at, by=by)
    return kept


def code_status_record(
    *,
    code_read: TroubleCodeRead,
    status_byte: int | None,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> TroubleCodeRead:
    """Keep the status byte that was read with a code; None takes it back."""
    if status_byte is not None and not 0 <= status_byte <= _BYTE_MOST:
        raise RuleBroken(
            "a status byte is one byte, 00 to FF",
            got=status_byte,
            do="Copy it from the display in hexadecimal.",
            column="status_byte",
        )
    with transaction.atomic():
        kept = TroubleCodeRead.objects.select_for_update().get(pk=code_read.pk)
        was = kept.status_byte
        if was != status_byte:
            kept.status_byte = status_byte
            kept.save(update_fields=["status_byte"])
            audit_record(
                organisation=code_read.job.organisation,
                change=Change(AuditVerb.CHANGE, kept, {"status_byte": [was, status_byte]}),
                by=by,
                at=at,
            )
    return kept


def codes_none_record(
    *, job: Job, phase: str, at: datetime, by: AbstractBaseUser | None = None
) -> list[FindingSeen]:
    """Keep that codes were read at this phase and none was stored: a finding for each group.

    Refused where a code of the phase stands, and until the vehicle's own tests are known to be
    finished after the last clearing: before that nothing found is not nothing there.
    """
    refuse_all(_phase_broken(phase))
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        refuse_all(_none_broken(job, phase))
        return [
            finding_record(
                job=job, said=FindingSaid(f"codes_{group}", _ABSENT, phase), at=at, by=by
            )
            for group in CODE_GROUPS
        ]


def _line(said: LineTyped) -> Line:
    """The line read, or a refusal of everything that is wrong with it."""
    line = parse_line(said.text)
    broken = list(_phase_broken(said.phase))
    broken += [_unread(each) for each in line.unread if each.reason != REPEATED]
    if not line.codes and not line.unread:
        broken.append(
            RuleBroken(
                "a line of codes holds a code",
                got="none",
                do="Type what the display shows, as in P2463, P244B pending.",
                column="text",
            )
        )
    ecu = " ".join(said.ecu.split())
    refuse_all((*broken, *broken_by(lambda: refuse_long("ecu", ecu, _ECU_CHARACTERS))))
    return line


def _unread(part: PartUnread) -> RuleBroken:
    if "; got " in part.reason:
        return broken_from(part.reason, got=part.written, column="text")
    return RuleBroken(
        "a line of codes holds codes and their states",
        got=part.written,
        do=f"{part.reason[:1].upper()}{part.reason[1:]}. Correct it, or take it out.",
        column="text",
    )


def _phase_broken(phase: str) -> Iterator[RuleBroken]:
    if phase not in JobPhase.values:
        yield RuleBroken(
            f"codes are read at one of {', '.join(JobPhase.values)}",
            got=phase,
            do="Say when.",
            column="phase",
        )


def _planned(
    job: Job, each: CodeInLine, said: LineTyped, taken: Collection[TroubleCodeRead]
) -> _Planned:
    """The row of a code: of its own state, or one of which no state was said before; a code of
    which no state is said now adds nothing to one that is kept. Rows in `taken` may have
    their state from the same line already."""
    phase, ecu = said.phase, " ".join(said.ecu.split())
    if isinstance(each.code, HeavyCode):
        scheme, code, failure_type = CodeScheme.SPN_FMI, each.code.printed, None
    else:
        scheme, code = CodeScheme.FIVE_CHARACTERS, each.code.code
        failure_type = each.code.failure_type
    by_line = {row.pk: row for row in taken if row.pk is not None}
    alike = [
        by_line.get(row.pk, row)
        for row in job.codes_read.filter(phase=phase, ecu=ecu, code=code, failure_type=failure_type)
        .select_for_update()
        .order_by("pk")
    ]
    state = CodeState(each.state.value)
    same = [row for row in alike if row.state == state]
    unsaid = [row for row in alike if row.state == CodeState.NOT_SAID]
    found = same or (alike if state == CodeState.NOT_SAID else unsaid)
    if found:
        row, before = found[0], {"state": found[0].state, "read_at": found[0].read_at}
        row.state = row.state if state == CodeState.NOT_SAID else state
        return _Planned(each, row, before)
    row = TroubleCodeRead(
        job=job,
        scheme=scheme,
        code=code,
        failure_type=failure_type,
        state=state,
        phase=phase,
        ecu=ecu,
    )
    return _Planned(each, row)


def _cleared(planned: Iterable[_Planned]) -> Iterator[RuleBroken]:
    for each in planned:
        if each.row.cleared_at is not None:
            yield RuleBroken(
                "a code that comes back after it was cleared was read at a later phase",
                got=each.code.written,
                do="Say that it was read after the work or at the recheck; its clearing stands.",
                column="text",
            )


def _change(planned: _Planned) -> Change:
    row, before = planned.row, planned.before
    if not before:
        return Change(AuditVerb.ADD, row, {"code": [None, planned.code.code.printed]})
    changes: dict[str, object] = {"read_at": [before["read_at"], row.read_at]}
    if before["state"] != row.state:
        changes["state"] = [before["state"], row.state]
    return Change(AuditVerb.CHANGE, row, changes)


def _absence_take_back(
    job: Job, kept: list[TroubleCodeRead], *, at: datetime, by: AbstractBaseUser | None
) -> None:
    own = own_meanings(job.organisation_id, job.vehicle.engine_family_id)
    present = [f"codes_{group}" for group in grouped((each.code for each in kept), own)]
    phases = {each.phase for each in kept}
    gone = job.findings_seen.filter(phase__in=phases, finding__in=present, state=_ABSENT)
    for each in gone.order_by("pk"):
        audit_record(
            organisation=job.organisation,
            change=Change(AuditVerb.REMOVE, each, {each.finding: [each.state, None]}),
            by=by,
            at=at,
        )
        each.delete()


def _none_broken(job: Job, phase: str) -> Iterator[RuleBroken]:
    codes = list(job.codes_read.filter(phase=phase).order_by("pk").values_list("code", flat=True))
    if phase == JobPhase.ARRIVAL:
        codes += [each.code.printed for each in parse_line(job.trouble_codes).codes]
    if codes:
        yield RuleBroken(
            "none is stored where no code was read at that phase",
            got=", ".join(dict.fromkeys(codes)),
            do="Say at which phase the memory was empty.",
            column="phase",
        )
    tests = job.findings_seen.filter(phase=phase, finding="self_tests").first()
    if tests is None or tests.state != "finished":
        yield RuleBroken(
            "an empty memory says nothing until the vehicle's own tests are finished",
            got="not known to be" if tests is None else "not finished",
            do="Read whether they are finished, that of the filter among them, and keep it as a "
            "finding of this phase; else drive until they are, and read again.",
            column="phase",
        )
        return
    cleared = job.codes_read.filter(cleared_at__gt=tests.seen_at)
    if cleared.exists():
        yield RuleBroken(
            "the vehicle's own tests have finished since codes were last cleared",
            got="seen before the clearing",
            do="Read again whether they are finished, and keep it as a finding.",
            column="phase",
        )

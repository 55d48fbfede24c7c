"""The trouble codes of a job in words, by when they were read, and earlier ones of their groups."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from garage.evidence.codes.form import TroubleCode
from garage.evidence.codes.heavy import HeavyCode, parse_heavy
from garage.evidence.codes.line import PartUnread, parse_line
from garage.evidence.codes.meanings import Meaning, Order, first_to_fix, grouped, groups
from garage.evidence.codes.status import Status, read_status
from garage.evidence.codes.told import CodeTold, code_told
from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.jobs.visits_before import trusted_km
from garage.evidence.own_wordings import own_meanings
from garage.evidence.visit.measured_of import NOT_PRESENT
from garage.records.choices import CodeScheme, JobPhase
from garage.records.models import Job, TroubleCodeRead


@dataclass(frozen=True)
class CodeOfJob:
    """A code that was read, in words. `status` is None where no status byte was read."""

    read: TroubleCodeRead
    told: CodeTold
    status: Status | None

    @property
    def stands(self) -> bool:
        """Whether its fault is to be reckoned with: its status does not speak against that."""
        return self.status is None or self.status.state not in NOT_PRESENT


@dataclass(frozen=True)
class CodesOfPhase:
    """The codes of one phase, in the order in which they were kept, and what to put right first.

    `none_stored` says that somebody read the memory and found it empty, tests finished.
    """

    phase: str
    codes: tuple[CodeOfJob, ...]
    order: Order
    none_stored: bool


@dataclass(frozen=True)
class SameGroup:
    """An earlier visit with codes of a group that stands at this one.

    `km_ago` is None where one of the two odometers is not known or in doubt.
    """

    job: Job
    group_title: str
    codes: tuple[str, ...]
    days_ago: int
    km_ago: int | None


@dataclass(frozen=True)
class JobCodes:
    """Everything of a job's codes.

    Attributes
    ----------
    phases : tuple of CodesOfPhase
        Those with codes, or with a memory found empty, in order.
    on_line : tuple of CodeTold
        Codes of the job's own line that are not kept one by one.
    line_unread : tuple of PartUnread
        What stands in that line and is no code.
    same_group : tuple of SameGroup
        The newest visit first.
    """

    phases: tuple[CodesOfPhase, ...]
    on_line: tuple[CodeTold, ...]
    line_unread: tuple[PartUnread, ...]
    same_group: tuple[SameGroup, ...]

    @property
    def codes(self) -> tuple[CodeOfJob, ...]:
        """Those of all phases."""
        return tuple(each for phase in self.phases for each in phase.codes)


def job_codes(*, job: Job, before: Iterable[Job]) -> JobCodes:
    """The codes of a job that the reader may see (`access_job`).

    `before` are earlier visits in view (`visits_before`).
    """
    own = own_meanings(job.organisation_id, job.vehicle.engine_family_id)
    rows = [_of_row(each, own) for each in job.codes_read.order_by("pk")]
    absent = set(
        job.findings_seen.filter(state="absent", finding__startswith="codes_").values_list(
            "phase", "finding"
        )
    )
    line = parse_line(job.trouble_codes)
    kept = {each.told.code for each in rows if each.read.phase == JobPhase.ARRIVAL}
    on_line = {each.code.printed: code_told(each.code, own) for each in line.codes}
    unkept = tuple(each for each in on_line.values() if each.code not in kept)
    present = [each.told.code for each in rows] + [each.code for each in unkept]
    return JobCodes(
        phases=tuple(_phases(rows, absent)),
        on_line=unkept,
        line_unread=line.unread,
        same_group=tuple(_same_group(job, before, present, own)),
    )


def code_of(read: TroubleCodeRead) -> TroubleCode | HeavyCode:
    """The code of a row."""
    if read.scheme == CodeScheme.SPN_FMI:
        return parse_heavy(read.code)
    return TroubleCode(read.code, read.failure_type)


def _of_row(read: TroubleCodeRead, own: Mapping[str, Meaning]) -> CodeOfJob:
    status = None if read.status_byte is None else read_status(read.status_byte)
    return CodeOfJob(read, code_told(code_of(read), own), status)


def _phases(rows: list[CodeOfJob], absent: set[tuple[str, str]]) -> Iterable[CodesOfPhase]:
    for phase in JobPhase.values:
        codes = tuple(each for each in rows if each.read.phase == phase)
        none_stored = all((phase, f"codes_{group}") in absent for group in CODE_GROUPS)
        if codes or none_stored:
            standing = [each.told.group for each in codes if each.stands and each.told.group]
            yield CodesOfPhase(phase, codes, first_to_fix(standing), none_stored and not codes)


def _same_group(
    job: Job, before: Iterable[Job], present: list[str], own: Mapping[str, Meaning]
) -> Iterable[SameGroup]:
    here = [group for group in grouped(present, own) if group]
    now_km = trusted_km(job)
    for each in before:
        then = grouped(_codes_then(each), own)
        then_km = trusted_km(each)
        for group in here:
            if group in then:
                yield SameGroup(
                    job=each,
                    group_title=groups().get(group, group),
                    codes=tuple(then[group]),
                    days_ago=(job.opened_on - each.opened_on).days,
                    km_ago=None if now_km is None or then_km is None else now_km - then_km,
                )


def _codes_then(job: Job) -> list[str]:
    """Codes of an earlier visit, each once: those kept, and those of its own line."""
    kept = [each.code for each in job.codes_read.all()]
    written = (code_told(each.code).code for each in parse_line(job.trouble_codes).codes)
    return list(dict.fromkeys([*kept, *written]))

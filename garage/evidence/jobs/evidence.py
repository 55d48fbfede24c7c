"""The evidence of one job: gathered from its records, and weighed."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

from garage.evidence.codes.line import parse_line
from garage.evidence.family_reference import family_measured
from garage.evidence.findings.likelihoods import Confirmed, Likelihoods
from garage.evidence.findings.likelihoods_read import likelihoods
from garage.evidence.findings.measured import Family
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.jobs.burns_told import burn_seen_to_fail
from garage.evidence.jobs.drives import drives_say
from garage.evidence.jobs.reading_rows import reading_said
from garage.evidence.own_limits import OwnLimits, limits_for
from garage.evidence.own_wordings import own_meanings
from garage.evidence.resistance.states import Layout
from garage.evidence.visit.at_odds import readings_at_odds
from garage.evidence.visit.measured_of import PRESSURE
from garage.evidence.visit.said import CodeSaid, ReadingSaid, Unused, VisitSaid
from garage.evidence.visit.weighing import Evidence, visit_grades, visit_weigh
from garage.records.choices import BaselineBecause, EngineCondition, JobPhase, OperationKind
from garage.records.models import Baseline, FindingSeen, Job, OutcomeConfirmed, Reading


@dataclass(frozen=True)
class JobEvidence(Evidence):
    """The evidence of one job at one phase, with the findings that somebody saw and from how many
    confirmed findings the likelihoods learnt."""

    phase: str
    seen: dict[str, FindingSeen]
    learnt_from: float


def job_evidence(*, job: Job, phase: str, organisation_ids: Iterable[int]) -> JobEvidence:
    """Weigh a job that the reader may see (`access_job`).

    The likelihoods learn from the confirmed outcomes of the organisations named.
    """
    seen = {each.finding: each for each in job.findings_seen.filter(phase=phase)}
    ids = list(organisation_ids)
    learnt = likelihoods_learnt(organisation_ids=ids)
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id)
    said = visit_said(job=job, phase=phase, organisation_ids=ids, limits=limits)
    said = replace(said, findings={key: each.state for key, each in seen.items()})
    evidence = visit_weigh(said, learnt, limits.findings)
    return JobEvidence(**vars(evidence), phase=phase, seen=seen, learnt_from=learnt.confirmed)


def visit_said(
    *, job: Job, phase: str, organisation_ids: Iterable[int], limits: OwnLimits
) -> VisitSaid:
    """All that the records say of a job at one phase, apart from what somebody saw."""
    family_id = job.vehicle.engine_family_id
    taken = list(job.technical_readings.select_related("baseline").order_by("pk"))
    codes, unread = _codes(job, phase)
    readings = tuple(reading_said(each) for each in taken if each.phase == phase)
    logged = drives_say(job=job, phase=phase, limits=limits.drives)
    return VisitSaid(
        readings=readings,
        lasting=tuple(reading_said(each) for each in taken),
        codes=codes,
        unread=unread,
        at_odds=readings_at_odds(readings, limits.together),
        own_meanings=own_meanings(job.organisation_id, family_id),
        grades=logged.grades,
        soot_fall_inlet_c=logged.soot_fall_inlet_c,
        family=Family()
        if family_id is None
        else family_measured(
            family_id=family_id,
            organisation_ids=organisation_ids,
            limits=limits.resistance,
            layout=_layout(readings),
        ),
        own_clean_mbar=_own_clean_mbar(job),
        # What was read on arrival was read before the work of the job.
        cleaned=phase != JobPhase.ARRIVAL
        and job.operations.filter(kind=OperationKind.CLEAN_OFF_VEHICLE).exists(),
    )


def _layout(readings: Iterable[ReadingSaid]) -> Layout:
    """The layout whose values these readings are held against: two hoses where none is said."""
    said = {each.layout for each in readings if each.layout}
    return Layout.ONE_HOSE if said == {Layout.ONE_HOSE} else Layout.TWO_HOSE


def likelihoods_learnt(*, organisation_ids: Iterable[int]) -> Likelihoods:
    """The likelihoods shipped, with what these organisations' confirmed outcomes add."""
    outcomes: dict[int, dict[str, str]] = defaultdict(dict)
    observed: dict[int, dict[str, str]] = defaultdict(dict)
    ids = list(organisation_ids)
    confirmed = OutcomeConfirmed.objects.filter(job__organisation_id__in=ids)
    rows = confirmed.order_by("pk").values_list("job_id", "list", "state", "graded")
    for job_id, of, state, graded in rows:
        outcomes[job_id][of] = state
        observed[job_id] |= graded
    found = FindingSeen.objects.filter(
        job__organisation_id__in=ids, phase=JobPhase.ARRIVAL, job__outcomes_confirmed__isnull=False
    ).distinct()
    for job_id, finding, state in found.order_by().values_list("job_id", "finding", "state"):
        observed[job_id][finding] = state
    counted: Counter[tuple[str, str, tuple[tuple[str, str], ...]]] = Counter()
    for job_id, findings in observed.items():
        proved = tuple(sorted(outcomes[job_id].items()))
        counted.update((finding, state, proved) for finding, state in findings.items())
    return likelihoods().updated(
        [
            Confirmed(finding, state, **dict(proved), count=count)
            for (finding, state, proved), count in counted.items()
            if _is_known(finding, state)
        ]
    )


def _is_known(finding: str, state: str) -> bool:
    """Whether the vocabulary still has what was graded in its day."""
    known = {each.key: dict(each.states) for each in vocabulary().findings}
    return state in known.get(finding, {})


def graded_on_arrival(*, job: Job) -> dict[str, str]:
    """What readings, codes and logs of the arrival say, apart from what somebody saw."""
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id)
    said = visit_said(
        job=job, phase=JobPhase.ARRIVAL, organisation_ids=[job.organisation_id], limits=limits
    )
    grades = visit_grades(said, limits.findings)
    return {each.finding: each.state for each in grades if each.state is not None}


def _own_clean_mbar(job: Job) -> float | None:
    """The vehicle's newest own reference at raised speed from an earlier job, corrected for the
    zero read with it; None where no zero was. One after a burn that was seen to be none is none."""
    newest = (
        Baseline.objects.filter(
            reading__job__vehicle=job.vehicle_id,
            reading__job__opened_on__lte=job.opened_on,
            reading__quantity=PRESSURE,
            reading__condition=EngineCondition.RAISED,
            reading__standard_value__isnull=False,
        )
        .exclude(reading__job=job)
        .exclude(burn_seen_to_fail("reading__job"), because=BaselineBecause.COMPLETED_BURN)
        .select_related("reading")
        .order_by("-reading__job__opened_on", "-pk")
        .first()
    )
    if newest is None:
        return None
    zero = (
        Reading.objects.filter(
            job=newest.reading.job_id,
            phase=newest.reading.phase,
            quantity=PRESSURE,
            condition=EngineCondition.ENGINE_OFF,
        )
        .order_by("-pk")
        .first()
    )
    if zero is None or zero.standard_value is None or newest.reading.standard_value is None:
        return None
    clean = newest.reading.standard_value - zero.standard_value
    return clean if clean > 0 else None


def _codes(job: Job, phase: str) -> tuple[tuple[CodeSaid, ...], tuple[Unused, ...]]:
    """Codes read at this phase; those of the job's own line were read on arrival."""
    read = [
        CodeSaid(each.code, each.status_byte)
        for each in job.codes_read.filter(phase=phase).order_by("pk")
    ]
    if phase != JobPhase.ARRIVAL:
        return tuple(read), ()
    line = parse_line(job.trouble_codes)
    written = [each.code.printed.split("-")[0] for each in line.codes]
    known = {each.code for each in read}
    read.extend(CodeSaid(code) for code in dict.fromkeys(written) if code not in known)
    return tuple(read), tuple(Unused(each.written, each.reason) for each in line.unread)

"""A job's evidence as its page tells it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django import forms
from django.http import HttpRequest, HttpResponse

from garage.evidence.findings.conflicts import Conflict, Kind
from garage.evidence.findings.gate import Gate
from garage.evidence.findings.next_check import NextCheck
from garage.evidence.findings.procedures import Procedure, procedure
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.findings.weighed import ListResult
from garage.evidence.jobs.bare_pressures import bare_pressures
from garage.evidence.jobs.evidence import JobEvidence, job_evidence
from garage.pages.cautions import DEFER
from garage.pages.forms.evidence import CautionForm, FindingForm, OutcomeForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import may_write
from garage.pages.written_at import WrittenAt, waits_for_unit, written_at
from garage.records.choices import EvidenceList, JobPhase
from garage.records.models import CautionConfirmed, FindingSeen, Job

#: States of a list and next checks shown; the rest are far less likely. Judgement.
STATES_SHOWN = 4
CHECKS_SHOWN = 3
Forms = dict[str, forms.Form]


@dataclass(frozen=True)
class StateTold:
    words: str
    per_cent: str
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]


@dataclass(frozen=True)
class ListTold:
    title: str
    verdict: str
    reason: str
    states: tuple[StateTold, ...]


@dataclass(frozen=True)
class CheckTold:
    """A check, why an earlier one of it said nothing, and where it is written down."""

    check: NextCheck
    read_before: str
    at: WrittenAt


@dataclass(frozen=True)
class CautionsTold:
    """The cautions of a procedure, who confirmed them here, or the form to do so."""

    procedure: Procedure
    confirmed: CautionConfirmed | None
    form: forms.Form


def phase_asked(said: str | None) -> str:
    """The phase that an address asks for; arrival where it names none that is known."""
    return said if said in JobPhase.values else JobPhase.ARRIVAL


def _finding_asked(request: HttpRequest) -> str:
    """The finding that an address asks to be written down; empty where it is none."""
    asked, known = request.GET.get("finding", ""), vocabulary().keys()
    return asked if asked in known else ""


def evidence_page(
    request: HttpRequest, job: Job, phase: str, wrong: Forms | None = None
) -> HttpResponse:
    """The page; `wrong` are forms that were sent and refused, by their name."""
    view = in_view(request)
    evidence = job_evidence(job=job, phase=phase, organisation_ids=view.scope.organisation_ids)
    refused = wrong or {}
    checks = evidence.weighed.next_checks[:CHECKS_SHOWN]
    asked = _finding_asked(request)
    return page(
        request,
        "evidence.html",
        view,
        None,
        job=job,
        mark=current_mark(job.vehicle),
        phases=JobPhase.choices,
        evidence=evidence,
        observed=_observed(evidence),
        ungraded=_ungraded(evidence),
        lists=[_list_told(each) for each in evidence.weighed.lists],
        conflicts=[
            (each, _checks_of(each)) for each in evidence.weighed.conflicts if _contradicts(each)
        ],
        agreements=[each for each in evidence.weighed.conflicts if not _contradicts(each)],
        checks=_checks_told(checks, evidence, job),
        gates=[(each, _opened_by(each, job, phase)) for each in evidence.gates.gates],
        cautions=cautions_told(job, _procedures(checks, refused), refused),
        outcomes=_outcomes_told(job),
        finding_form=refused.get("finding")
        or FindingForm(prefix="finding", initial={"phase": phase}, of=asked),
        finding_asked=asked,
        finding_waiting=refused.get("finding"),
        outcome_form=refused.get("outcome") or OutcomeForm(prefix="outcome"),
        may_write=may_write(request, job.organisation_id),
        cautions_defer=DEFER,
    )


def _checks_told(checks: Sequence[NextCheck], evidence: JobEvidence, job: Job) -> list[CheckTold]:
    bare = bare_pressures(job=job, phase=evidence.phase)
    return [_check_told(each, evidence, job, bare) for each in checks]


def _check_told(
    check: NextCheck, evidence: JobEvidence, job: Job, bare: frozenset[str]
) -> CheckTold:
    """A check read before is told with why it said nothing: codes lack the vehicle's own tests, a
    bare pressure its unit."""
    words = {each.finding: each.words for each in evidence.ungraded}
    finding = check.finding
    if finding.startswith("codes_") and any(e.startswith("codes_") for e in evidence.observed):
        words |= {each.finding: each.words for each in evidence.grades}
        finding = "self_tests"
    if waits_for_unit(finding, bare):
        words[finding] = "the display shows no unit; find which it is"
    at = written_at(job.pk, finding, evidence.phase, bare)
    return CheckTold(check, words.get(check.finding, ""), at)


def _opened_by(gate: Gate, job: Job, phase: str) -> list[WrittenAt]:
    """The forms that take what a gate waits for; what lies behind it waits for the same."""
    checks = gate.checks if gate.is_reached else ()
    return [written_at(job.pk, each, phase) for each in checks]


def _observed(evidence: JobEvidence) -> list[tuple[str, str, str, FindingSeen | None]]:
    """Each finding weighed: its title, its state in words, where it is from, and who saw it."""
    words, graded = vocabulary(), {each.finding: each for each in evidence.grades}
    told = []
    for key, state in words.checked(evidence.observed).items():
        finding = words.finding(key)
        seen = evidence.seen.get(key)
        source = graded[key].words if seen is None else "; ".join(filter(None, ["seen", seen.note]))
        told.append((finding.title, finding.words(state), source, seen))
    return told


def _ungraded(evidence: JobEvidence) -> list[tuple[str, str]]:
    return [(vocabulary().finding(each.finding).title, each.words) for each in evidence.ungraded]


def _list_told(result: ListResult) -> ListTold:
    leading = result.states[0]
    verdict = leading.words if result.settled is not None else "cannot be told yet"
    return ListTold(
        title=str(EvidenceList(result.of).label),
        verdict=verdict,
        reason=result.reason,
        states=tuple(
            StateTold(
                words=each.words,
                per_cent=f"{100 * each.probability:.0f} %"
                if each.probability >= _LEAST
                else "< 1 %",
                speaks_for=tuple(effect.words for effect in each.speaks_for),
                against=tuple(effect.words for effect in each.against),
            )
            for each in result.states[:STATES_SHOWN]
        ),
    )


_LEAST = 0.005


def _contradicts(conflict: Conflict) -> bool:
    return conflict.kind is Kind.CONFLICT


def _checks_of(conflict: Conflict) -> list[str]:
    return [
        vocabulary().finding(key).check for key in (*conflict.checks_left, *conflict.checks_waiting)
    ]


def _procedures(checks: Sequence[NextCheck], refused: Forms) -> list[str]:
    """Those of the next checks, and that of a finding which waits for its cautions, once each."""
    needed = [each.needs for each in checks]
    found = getattr(refused.get("finding"), "cleaned_data", {}).get("found")
    if found is not None:
        needed.insert(0, vocabulary().finding(found[0]).needs)
    return [each for each in dict.fromkeys(needed) if each is not None]


def cautions_told(job: Job, procedures: list[str], refused: Forms) -> list[CautionsTold]:
    """The cautions of these procedures, and who confirmed them at the job."""
    confirmed = {each.procedure: each for each in job.cautions_confirmed.order_by("pk")}
    return [
        CautionsTold(procedure(key), confirmed.get(key), _caution_form(key, refused))
        for key in procedures
    ]


def _caution_form(key: str, refused: Forms) -> forms.Form:
    sent = refused.get("caution")
    if sent is not None and sent.data.get("caution-procedure") == key:
        return sent
    return CautionForm(prefix="caution", initial={"procedure": key}, auto_id=f"id_{key}_%s")


def _outcomes_told(job: Job) -> list[tuple[str, str]]:
    return [
        (str(EvidenceList(each.list).label), vocabulary().state_words(each.list, each.state))
        for each in job.outcomes_confirmed.order_by("list")
    ]

"""The resistance of a job's filter, its ash and its soot, as the page tells them."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse

from garage.evidence.findings.procedures import procedure
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.jobs.deposits import DepositsKnown, deposits_known
from garage.evidence.jobs.resistance import JobResistance, job_resistance
from garage.evidence.own_limits import limits_for
from garage.evidence.resistance.deposits import AshTold, DepositsTold, deposits_reckoned
from garage.evidence.resistance.model import ResistanceIndex
from garage.evidence.resistance.ranges import Range
from garage.evidence.resistance.soot import IntervalStatus
from garage.evidence.resistance.states import StateRange, StatesStatus
from garage.evidence.thresholds import Thresholds
from garage.pages.cautions import DEFER
from garage.pages.charts.resistance import resistance_chart
from garage.pages.forms.resistance import (
    ASKED,
    DepositsForm,
    EngineForm,
    deposits_initial,
    deposits_on_record,
    deposits_said,
)
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.reference_told import reference_table
from garage.pages.respond import page
from garage.pages.words import NO_BREAK, UNKNOWN, spaced
from garage.pages.write import may_write
from garage.records.choices import EvidenceList, JobPhase
from garage.records.models import Job


@dataclass(frozen=True)
class Fact:
    name: str
    words: str
    remark: str = ""


def resistance_page(request: HttpRequest, job: Job, phase: str) -> HttpResponse:
    """The page of one phase, with what was asked in the address."""
    view = in_view(request)
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id).resistance
    engine = EngineForm(request.GET if "displacement_l" in request.GET else None)
    displacement_l = engine.cleaned_data.get("displacement_l") if engine.is_valid() else None
    found = job_resistance(
        job=job,
        phase=phase,
        organisation_ids=view.scope.organisation_ids,
        displacement_l=displacement_l,
    )
    known = deposits_known(job=job)
    form = _deposits_form(request, known, phase)
    deposits = _deposits(form, known, limits)
    engine.initial["phase"] = phase
    return page(
        request,
        "resistance.html",
        view,
        None,
        job=job,
        mark=current_mark(job.vehicle),
        phases=JobPhase.choices,
        found=found,
        verdict=_verdict(found),
        index=_index_words(found.index),
        ranges=[_range_told(each) for each in found.states.ranges],
        chart=resistance_chart(found),
        reference=None if found.references is None else reference_table(found.references),
        engine_form=engine,
        known=known,
        deposits_form=form,
        deposits=deposits,
        ash=None if deposits is None else _ash_facts(deposits.ash),
        interval="" if deposits is None else _INTERVALS[deposits.interval.status],
        cautions=procedure("engine_running"),
        cautions_defer=DEFER,
        may_write=may_write(request, job.organisation_id),
    )


def _deposits_form(request: HttpRequest, known: DepositsKnown, phase: str) -> DepositsForm:
    if request.GET.get("asked") == ASKED:
        return DepositsForm(request.GET, auto_id="id_ash_%s")
    initial = deposits_initial(known) | {
        "phase": phase,
        "displacement_l": request.GET.get("displacement_l", ""),
    }
    return DepositsForm(initial=initial, auto_id="id_ash_%s")


def _deposits(form: DepositsForm, known: DepositsKnown, limits: Thresholds) -> DepositsTold | None:
    """Reckoned from the form where one was sent and holds, else from the records; None where one
    was sent and does not hold."""
    if not form.is_bound:
        return deposits_reckoned(deposits_on_record(known), limits)
    if not form.is_valid():
        return None
    return deposits_reckoned(deposits_said(form.cleaned_data), limits)


def _verdict(found: JobResistance) -> str:
    """The states in words, in the order of the vocabulary."""
    if not found.states.allowed:
        return _NO_STATES[found.states.status]
    words = vocabulary()
    told = [
        words.state_words(EvidenceList.FILTER, each.state.value)
        for each in found.states.ranges
        if each.state in found.states.allowed
    ]
    return " or ".join(told)


_NO_STATES = {
    StatesStatus.OK: "cannot be told",
    StatesStatus.AT_AN_EDGE: "cannot be told",
    StatesStatus.BELOW_USUAL: "less than sound filters read",
    StatesStatus.NOT_COMPARABLE: "not compared",
    StatesStatus.NO_INDEX: "cannot be told yet",
}


def _index_words(index: ResistanceIndex) -> str:
    if index.low is None or index.high is None:
        return UNKNOWN
    between = f"{index.low:.3f} to {index.high:.3f}"
    if index.resistance_mbar_per_m3_per_h is None:
        return f"between {between} mbar per m³/h"
    return f"{index.resistance_mbar_per_m3_per_h:.3f} ({between}) mbar per m³/h"


def _range_told(each: StateRange) -> Fact:
    state = vocabulary().state_words(EvidenceList.FILTER, each.state.value)
    if each.most is None:
        return Fact(state, f"from {each.least:.3f} up", each.rests_on)
    return Fact(state, f"{each.least:.3f} to {each.most:.3f}", each.rests_on)


_INTERVALS = {
    IntervalStatus.WITHIN: "as the duty leads to expect",
    IntervalStatus.SHORTER: "shorter than the duty leads to expect",
    IntervalStatus.LONGER: "longer than the duty leads to expect",
    IntervalStatus.NOT_KNOWN: UNKNOWN,
}


def _ash_facts(ash: AshTold) -> list[Fact]:
    return [
        Fact("Ash of the oil", _range(ash.ash_percent, "%", 1)),
        Fact("Ash kept, per 1000 km", _range(ash.ash_g_per_1000_km, "g", 2)),
        Fact("Ash by now", _range(ash.ash_by_now_g, "g", 0)),
        Fact("Full at", _range(ash.full_at_g, "g", 0)),
        Fact("A new filter lasts", _distance(ash.full_after_km)),
        Fact("Left until full", _distance(ash.remaining_km)),
    ]


def _range(found: Range | None, unit: str, places: int) -> str:
    if found is None:
        return UNKNOWN
    least, likely, most = (f"{each:.{places}f}" for each in (found.least, found.likely, found.most))
    if least == most:
        return f"{likely}{NO_BREAK}{unit}"
    return f"{least} to {most}{NO_BREAK}{unit}, likely {likely}"


def _distance(found: Range | None) -> str:
    """To two figures: a range whose ends lie several times apart deserves no more."""
    if found is None:
        return UNKNOWN
    least, likely, most = (
        spaced(_two_figures(each)) for each in (found.least, found.likely, found.most)
    )
    return f"{least} to {most}{NO_BREAK}km, likely {likely}"


def _two_figures(value: float) -> float:
    return float(f"{value:.2g}")

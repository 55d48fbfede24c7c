"""A job's displays as its page tells them: their units, the sensor behind, and the hoses."""

from collections.abc import Mapping
from dataclasses import replace

from django import forms
from django.http import HttpRequest, HttpResponse

from garage.evidence.family_reference import family_measured
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.gauges.hoses import HoseReadings, HosesTold, hoses_told
from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.units import NONE_OF_THESE, PA_PER_MBAR, symbol_of
from garage.evidence.jobs.gauges import DisplayOfJob, job_gauges
from garage.evidence.own_limits import limits_for
from garage.evidence.thresholds import Thresholds
from garage.pages.cautions import DEFER, PRACTICE, Caution
from garage.pages.displays_told import (
    FindingOffered,
    Kept,
    display_told,
    finding_offered,
    mbar_told,
)
from garage.pages.evidence_page import cautions_told
from garage.pages.forms.gauges import ConfirmForm, HosesForm, PairForm, ShownByForm
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import may_write
from garage.records.choices import JobPhase
from garage.records.models import Job

Forms = Mapping[str, forms.Form]
_MOST_MBAR = DEFAULTS["applied_most_pa"] / PA_PER_MBAR
PUMP = Caution(
    "Known pressure on a sensor",
    "Key on, engine off. Take the hoses off at the sensor and apply the pressure there, slowly, "
    f"with a hand pump and its gauge. Never compressed air. Keep below {_MOST_MBAR:g} mbar and "
    "below what the sensor is made for; let the pressure off before taking the pump away.",
    PRACTICE,
)


def gauges_page(
    request: HttpRequest, job: Job, phase: str, wrong: Forms | None = None
) -> HttpResponse:
    """The page; `wrong` are forms that were sent and refused, by their name."""
    view, refused = in_view(request), wrong or {}
    family = job.vehicle.engine_family
    limits = limits_for(job.organisation_id, None if family is None else family.pk)
    idle_mbar = (
        None
        if family is None
        else family_measured(
            family_id=family.pk,
            organisation_ids=view.scope.organisation_ids,
            limits=limits.resistance,
        ).idle_mbar
    )
    gauges = job_gauges(
        job=job,
        phase=phase,
        sound_idle_pa=None if idle_mbar is None else idle_mbar * PA_PER_MBAR,
        limits=limits.gauges,
    )
    kept = {(e.finding, e.state) for e in job.findings_seen.filter(phase=phase)}
    form, hoses = _hoses(request, gauges.pressures, phase, limits.gauges)
    asked = request.GET.urlencode()
    told = [
        (
            display_told(each, kept, limits),
            _confirm_form(each, None if family is None else family.name, refused),
        )
        for each in gauges.displays
    ]
    workshop = {"organisation_id": job.organisation_id}
    return page(
        request,
        "gauges.html",
        view,
        None,
        job=job,
        mark=current_mark(job.vehicle),
        family=family,
        phase=phase,
        phases=JobPhase.choices,
        asked=f"?{asked}" if asked else "",
        displays=told,
        has_chart=any(each.chart is not None and each.chart.spec for each, _ in told),
        waits_for_unit=bool(gauges.waits_for_unit),
        bare_of_no_display=gauges.bare_of_no_display,
        pressures=_pressures_told(gauges.pressures),
        hoses=hoses,
        hoses_words="" if hoses.hoses is None else _words("hoses", hoses.hoses),
        hoses_form=form,
        hoses_offered=_hoses_offered(hoses, kept),
        has_instruments=job.organisation.instruments.exists(),
        pair_form=refused.get("pair") or PairForm(prefix="pair", **workshop),
        shown_by_form=refused.get("shown-by") or ShownByForm(prefix="shown-by", **workshop),
        tolerances=_tolerances(limits.gauges),
        refused_keep=_refused_keep(refused),
        pump=PUMP,
        cautions=cautions_told(job, ["pressure_hoses", "engine_running"], dict(refused)),
        cautions_defer=DEFER,
        may_write=may_write(request, job.organisation_id),
    )


def _refused_keep(refused: Forms) -> str:
    """Why a finding was not kept: it comes from a bare button, which cannot say so itself."""
    sent = refused.get("keep")
    if sent is None:
        return ""
    return " ".join(str(each) for faults in sent.errors.values() for each in faults)


def _words(key: str, state: str) -> str:
    return vocabulary().finding(key).words(state)


def _tolerances(limits: Thresholds) -> str:
    """What a true sensor may be off by, and what that rests on."""
    zero, share = (limits.told(key) for key in ("zero_good_mbar", "reading_tolerance_share"))
    return (
        f"Tolerance: zero {zero.value:g} mbar ({zero.basis.words}); slope {100 * share.value:g} % "
        f"of the reading, the others as much of the span ({share.basis.words})."
    )


def _confirm_form(display: DisplayOfJob, family: str | None, refused: Forms) -> forms.Form | None:
    """The form that confirms the unit; None where the display names its own."""
    if display.unit is not None and display.unit.confirmed is None:
        return None
    sent = refused.get("confirm")
    if sent is not None and sent.data.get("confirm-instrument") == str(display.instrument.pk):
        return sent
    # Without a leading unit none is chosen: a tap too many would make a unit of the first in line.
    initial: dict[str, object] = {"instrument": display.instrument.pk}
    if display.unit is not None:
        initial["unit"] = display.unit.unit.symbol
    leading = display.inferred.candidates[0].unit if display.inferred is not None else None
    if leading is not None and leading != NONE_OF_THESE:
        initial["unit"] = symbol_of(leading)
    name = f"id_confirm_{display.instrument.pk}_%s"
    return ConfirmForm(prefix="confirm", initial=initial, auto_id=name, family=family)


def _hoses(
    request: HttpRequest, pressures: HoseReadings, phase: str, limits: Thresholds
) -> tuple[HosesForm, HosesTold]:
    """The form as it was asked, and what the readings say with it."""
    asked = any(name in request.GET for name in HosesForm.base_fields if name != "phase")
    form = HosesForm(request.GET if asked else None, initial={"phase": phase})
    seen = form.seen() if asked and form.is_valid() else HoseReadings()
    read = replace(
        seen,
        zero_pa=pressures.zero_pa,
        idle_pa=pressures.idle_pa,
        raised_pa=pressures.raised_pa,
        one_hose=pressures.one_hose if seen.one_hose is None else seen.one_hose,
    )
    return form, hoses_told(read, limits)


def _hoses_offered(told: HosesTold, kept: Kept) -> list[FindingOffered]:
    states = (("hoses", told.hoses), ("response", told.response))
    return [finding_offered(key, state, kept) for key, state in states if state is not None]


def _pressures_told(read: HoseReadings) -> list[tuple[str, str]]:
    at = (
        ("key on, engine off", read.zero_pa),
        ("idle", read.idle_pa),
        ("raised speed", read.raised_pa),
    )
    return [(name, "not known" if pa is None else mbar_told(pa)) for name, pa in at]

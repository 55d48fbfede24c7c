"""A job's trouble codes as its page tells them."""

from collections.abc import Mapping
from dataclasses import dataclass

from django import forms
from django.http import HttpRequest, HttpResponse

from garage.evidence.codes.on_board_told import OnBoardTold, on_board_told
from garage.evidence.codes.reset_signs import ResetSign, Sign
from garage.evidence.codes.status import Region, permanent_words
from garage.evidence.jobs.codes import CodeOfJob, CodesOfPhase, JobCodes, job_codes
from garage.evidence.jobs.resets import job_resets
from garage.evidence.jobs.visits_before import visits_before
from garage.pages.evidence_page import phase_asked
from garage.pages.forms.codes import (
    ClearForm,
    KeepValuesForm,
    LineForm,
    NoneForm,
    StatusForm,
    ValuesForm,
)
from garage.pages.history_rows import current_mark
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.words import kilometres, spaced
from garage.pages.write import may_write
from garage.records.choices import CodeState, JobPhase
from garage.records.index_jobs import WINDOW_DAYS, WINDOW_KM
from garage.records.models import Job

Forms = Mapping[str, forms.Form]


@dataclass(frozen=True)
class CodeRow:
    """A code of the list, with the form of its status byte; `note` is empty for most."""

    code: CodeOfJob
    state: str
    note: str
    status_hex: str
    status_form: forms.Form


@dataclass(frozen=True)
class PhaseTold:
    title: str
    phase: CodesOfPhase
    rows: tuple[CodeRow, ...]


@dataclass(frozen=True)
class SignTold:
    """A rule that shows something, with the figures that it rests on."""

    sign: ResetSign
    numbers: tuple[str, ...]


def codes_page(request: HttpRequest, job: Job, wrong: Forms | None = None) -> HttpResponse:
    """The page; `wrong` are forms that were sent and refused, by their name."""
    view, refused = in_view(request), wrong or {}
    before = visits_before(job=job, organisation_ids=view.scope.organisation_ids)
    told, resets = job_codes(job=job, before=before), job_resets(job=job, before=before)
    phase = phase_asked(request.GET.get("phase"))
    return page(
        request,
        "codes.html",
        view,
        None,
        job=job,
        phase=phase,
        mark=current_mark(job.vehicle),
        phases=[_phase_told(each, refused) for each in told.phases],
        codes=told,
        same_group=[(each, kilometres(each.km_ago)) for each in told.same_group],
        window_days=WINDOW_DAYS,
        window_km=kilometres(WINDOW_KM),
        reset_before=resets.before,
        shown=[_sign_told(each) for each in resets.signs if each.sign is Sign.SHOWN],
        not_shown=[each for each in resets.signs if each.sign is Sign.NOT_SHOWN],
        untold=[each for each in resets.signs if each.sign is Sign.CANNOT_BE_TOLD],
        line_form=refused.get("line") or _line_form(told, phase),
        clear_form=refused.get("clear") or ClearForm(prefix="clear", job=job),
        none_form=refused.get("none") or NoneForm(prefix="none", initial={"phase": phase}),
        values_form=refused.get("values") or ValuesForm(prefix="values"),
        pasted=_pasted(refused, phase),
        refused_status=_astray(told, refused),
        may_write=may_write(request, job.organisation_id),
    )


def _line_form(told: JobCodes, phase: str) -> LineForm:
    """Starts from codes of the job's own line that are not kept one by one."""
    written = ", ".join(each.printed for each in told.on_line)
    return LineForm(prefix="line", initial={"text": written, "phase": phase})


def _phase_told(phase: CodesOfPhase, refused: Forms) -> PhaseTold:
    return PhaseTold(
        title=str(JobPhase(phase.phase).label),
        phase=phase,
        rows=tuple(_row(each, refused) for each in phase.codes),
    )


def _row(code: CodeOfJob, refused: Forms) -> CodeRow:
    sent = refused.get("status")
    ours = sent is not None and sent.data.get("status-code") == str(code.read.pk)
    form = sent if ours and sent is not None else StatusForm.of(code.read)
    status = code.read.status_byte
    status_hex = "" if status is None else f"{status:02X}"
    permanent = code.read.state == CodeState.PERMANENT
    return CodeRow(
        code=code,
        state=code.read.get_state_display(),
        note=permanent_words(Region.NOT_KNOWN, 1) if permanent else "",
        status_hex=status_hex,
        status_form=form,
    )


def _astray(told: JobCodes, refused: Forms) -> str:
    """Why a status byte was refused whose code is not on the page."""
    sent = refused.get("status")
    if sent is None or sent.data.get("status-code") in {str(e.read.pk) for e in told.codes}:
        return ""
    return " ".join(str(each) for faults in sent.errors.values() for each in faults)


def _sign_told(sign: ResetSign) -> SignTold:
    return SignTold(
        sign,
        tuple(f"{each.title} {spaced(round(each.value))} {each.unit}" for each in sign.numbers),
    )


@dataclass(frozen=True)
class PastedTold:
    """Pasted answers, decoded, with the form that keeps some of them."""

    told: OnBoardTold
    form: forms.Form | None


def _pasted(refused: Forms, phase: str) -> PastedTold | None:
    """What was pasted: sent to be read, or to be kept and refused."""
    sent, kept = refused.get("values"), refused.get("keep")
    if kept is not None:
        return PastedTold(on_board_told(str(kept.data.get("keep-text", ""))), kept)
    if sent is None or not sent.is_valid():
        return None
    text = sent.cleaned_data["text"]
    told = on_board_told(text)
    form = KeepValuesForm(
        prefix="keep",
        told=told,
        initial={
            "text": text,
            "chosen": [each.at for each in told.keepable],
            "tests": True,
            "phase": phase,
        },
    )
    return PastedTold(told, form if told.keepable or told.tests is not None else None)

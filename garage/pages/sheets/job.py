"""The job sheet: what a customer takes home of a visit."""

from datetime import date
from typing import Any

from garage.evidence.jobs.codes import CodeOfJob, job_codes
from garage.pages import words
from garage.pages.cautions import keeper_cautions_for
from garage.pages.history_rows import current_mark, operation_told, reading_told
from garage.pages.sheets.make import sheet_pdf
from garage.pages.sheets.rows import cost_rows, reading_row, terms_told, told
from garage.records.choices import CustomerAnswer, JobPhase, RecheckState
from garage.records.jobs import JobSheet
from garage.records.models import AdviceGiven, Operation, Warranty
from garage.records.services.warranties import FITTING_KINDS


def job_sheet_pdf(sheet: JobSheet, *, made_on: date) -> bytes:
    """The sheet as PDF. It states what is recorded, and leaves out what is not."""
    return sheet_pdf("job.typ", job_sheet_data(sheet, made_on=made_on), made_on=made_on)


def job_sheet_data(sheet: JobSheet, *, made_on: date) -> dict[str, Any]:
    job, vehicle = sheet.job, sheet.job.vehicle
    keeper = vehicle.keepers.filter(until_on__isnull=True).first()
    read = sheet.reading
    closed = "" if job.closed_on is None else words.day(job.closed_on)
    return {
        "title": f"Job {job.ref}",
        "from": job.organisation.name,
        "to": "" if keeper is None else keeper.name,
        "made_on": words.day(made_on),
        "visit": told(
            {
                "Registration": current_mark(vehicle),
                "VIN": vehicle.vin,
                "Our reference": vehicle.ref,
                "Came in": words.day(job.opened_on),
                "Odometer": "" if read is None else reading_told(read).typed,
                "Complaint": job.complaint,
                "Trouble codes": job.trouble_codes,
                "Closed": closed or "not yet",
            }
        ),
        "found": told(
            {
                "Findings": job.findings,
                "Cause": job.get_cause_display() if job.cause else "",
                "On the cause": job.cause_note,
            }
        ),
        "codes": [_code(each) for each in job_codes(job=job, before=()).codes],
        "done": [operation_told(each, with_cost=False) for each in sheet.operations],
        "parts": [_part(each) for each in sheet.operations if each.kind in FITTING_KINDS],
        "readings": [
            reading_row(each.get_phase_display(), each)
            for each in sorted(sheet.readings, key=lambda read: JobPhase.values.index(read.phase))
        ],
        "costs": cost_rows(sheet.operations),
        "advice": [_advice(each) for each in sheet.advice],
        "recheck": _recheck(sheet),
        "cautions": list(keeper_cautions_for(job.system)),
    }


def _code(code: CodeOfJob) -> list[str]:
    read = code.read
    cleared = "" if read.cleared_at is None else f", cleared {words.day(read.cleared_at.date())}"
    said = code.told.words or "not known here"
    return [code.told.printed, said, read.get_phase_display(), read.get_state_display() + cleared]


def _part(operation: Operation) -> list[str]:
    kind = operation.part_kind
    name = operation.part_named if kind is None else kind.name
    warranty: Warranty | None = getattr(operation, "warranty", None)
    return [
        " ".join(filter(None, (name or "part", operation.position))),
        operation.get_part_origin_display() if operation.part_origin else "",
        operation.part_mark,
        "" if warranty is None else terms_told(warranty),
    ]


def _advice(advice: AdviceGiven) -> list[str]:
    if advice.answered_at is None:
        return [advice.text, CustomerAnswer.OPEN.label, "", ""]
    when = words.day(advice.answered_at.date())
    return [advice.text, advice.get_answer_display(), advice.answered_by, when]


def _recheck(sheet: JobSheet) -> str:
    recheck = sheet.recheck
    if recheck is None or recheck.state != RecheckState.DUE:
        return ""
    distance = "" if recheck.due_km is None else f" or at {words.kilometres(recheck.due_km)}"
    return (
        f"Please bring it back to be looked at by {words.day(recheck.due_on)}{distance}, "
        "whichever comes first."
    )

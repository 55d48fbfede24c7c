"""The claim sheet: what a workshop sends to whoever gave the warranty."""

from datetime import date
from typing import Any

from garage.pages import words
from garage.pages.history_rows import current_mark
from garage.pages.sheets.make import sheet_pdf
from garage.pages.sheets.rows import cost_rows, reading_row, terms_told, told
from garage.records.claims import ClaimEvidence


def claim_sheet(evidence: ClaimEvidence, *, made_on: date) -> bytes:
    """The sheet as PDF. It states what is recorded, and leaves out what is not."""
    return sheet_pdf("claim.typ", claim_data(evidence, made_on=made_on), made_on=made_on)


def claim_data(evidence: ClaimEvidence, *, made_on: date) -> dict[str, Any]:
    claim = evidence.claim
    operation, warranty = claim.warranty.operation, claim.warranty
    vehicle = operation.job.vehicle
    part = operation.part_kind
    failed_at = evidence.failed_at
    family = vehicle.engine_family
    fitment = evidence.fitment
    giver = warranty.giver_name or warranty.get_given_by_display()
    return {
        "title": f"Warranty claim {claim.pk}",
        "from": claim.organisation.name,
        "to": giver,
        "made_on": words.day(made_on),
        "vehicle": told(
            {
                "Registration": current_mark(vehicle),
                "VIN": vehicle.vin,
                "Engine family": "" if family is None else family.name,
                "Our reference": vehicle.ref,
            }
        ),
        "part": told(
            {
                "Part": "" if part is None else part.name,
                "Position": operation.position,
                "Origin": operation.get_part_origin_display() if operation.part_origin else "",
                "Make": operation.part_brand,
                "Number or mark": operation.part_mark,
                "Terms": terms_told(warranty),
                "Conditions": warranty.conditions,
            }
        ),
        "course": [
            [
                "Fitted",
                words.day(evidence.fitted_at.opened_on),
                _km(fitment, "fitted_km"),
                evidence.fitted_at.ref,
            ],
            ["Failed", words.day(failed_at.opened_on), _km(fitment, "removed_km"), failed_at.ref],
        ],
        "driven": words.kilometres(evidence.driven_km),
        "answer": "" if evidence.answer is None else f"{evidence.answer.words}.",
        "failure": told(
            {
                "Complaint": failed_at.complaint,
                "Trouble codes": failed_at.trouble_codes,
                "Findings": failed_at.findings,
                "Cause": failed_at.get_cause_display() if failed_at.cause else "",
                "On the cause": failed_at.cause_note,
            }
        ),
        "readings": [
            *(reading_row("after fitting", each) for each in evidence.readings_at_fitting),
            *(reading_row("when it had failed", each) for each in evidence.readings_at_failure),
        ],
        "costs": cost_rows(
            line
            for line in failed_at.operations.all()
            if (line.part_kind_id, line.position) == (operation.part_kind_id, operation.position)
        ),
        "documents": [
            [each.title, each.get_kind_display(), each.sha256[:12]] for each in evidence.documents
        ],
    }


def _km(fitment: Any, field: str) -> str:
    return words.kilometres(None if fitment is None else getattr(fitment, field))

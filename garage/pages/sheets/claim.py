"""The claim sheet: what a workshop sends to whoever gave the warranty."""

from datetime import date
from decimal import Decimal
from typing import Any

from garage.pages import words
from garage.pages.history_rows import current_mark
from garage.pages.sheets.make import sheet_pdf
from garage.records.claims import ClaimEvidence
from garage.records.models import Job, Reading


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
    terms = [
        *([f"{warranty.months} months"] if warranty.months is not None else []),
        *([words.kilometres(warranty.distance_km)] if warranty.distance_km is not None else []),
    ]
    return {
        "title": f"Warranty claim {claim.pk}",
        "from": claim.organisation.name,
        "to": giver,
        "made_on": words.day(made_on),
        "vehicle": _told(
            {
                "Registration": current_mark(vehicle),
                "VIN": vehicle.vin,
                "Engine family": "" if family is None else family.name,
                "Our reference": vehicle.ref,
            }
        ),
        "part": _told(
            {
                "Part": "" if part is None else part.name,
                "Position": operation.position,
                "Origin": operation.get_part_origin_display() if operation.part_origin else "",
                "Make": operation.part_brand,
                "Number or mark": operation.part_mark,
                "Terms": " or ".join(terms) + (", whichever ends first" if len(terms) > 1 else ""),
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
        "failure": _told(
            {
                "Complaint": failed_at.complaint,
                "Trouble codes": failed_at.trouble_codes,
                "Findings": failed_at.findings,
                "Cause": failed_at.get_cause_display() if failed_at.cause else "",
                "On the cause": failed_at.cause_note,
            }
        ),
        "readings": [
            *(_reading("after fitting", each) for each in evidence.readings_at_fitting),
            *(_reading("when it had failed", each) for each in evidence.readings_at_failure),
        ],
        "costs": _costs(failed_at, operation.part_kind_id, operation.position),
        "documents": [
            [each.title, each.get_kind_display(), each.sha256[:12]] for each in evidence.documents
        ],
    }


def _told(facts: dict[str, str]) -> list[list[str]]:
    return [[name, value] for name, value in facts.items() if value]


def _km(fitment: Any, field: str) -> str:
    return words.kilometres(None if fitment is None else getattr(fitment, field))


def _reading(when: str, reading: Reading) -> list[str]:
    value = f"{reading.value.normalize():f} {reading.unit or 'no unit shown'}"
    return [reading.quantity.replace("_", " "), when, value, reading.condition]


def _costs(job: Job, part_kind_id: int | None, position: str) -> list[list[str]]:
    """What work on this part cost at this job: labour, parts and tax apart, and their sum, each
    currency by itself."""
    sums: dict[str, dict[str, Decimal]] = {}
    for line in job.operations.all():
        if line.part_kind_id != part_kind_id or line.position != position:
            continue
        for what, amount in (
            ("Labour", line.labour_cost),
            ("Parts", line.parts_cost),
            ("Tax", line.tax_cost),
        ):
            if amount is not None:
                of_currency = sums.setdefault(line.currency, {})
                of_currency[what] = of_currency.get(what, Decimal(0)) + amount
    return [
        [what, f"{amount:.2f} {currency}"]
        for currency, parts in sorted(sums.items())
        for what, amount in (*parts.items(), ("Together", sum(parts.values(), Decimal(0))))
    ]

"""Open warranty claims when parts fail within their terms, and move them to their end."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, ClaimState, RemovedBecause
from garage.records.errors import RuleBroken
from garage.records.models import Claim, Fitment, Job, Warranty
from garage.records.services.audit import Change, audit_record
from garage.records.services.settle import BATCH_VEHICLES
from garage.records.unplanned import was_unplanned
from garage.records.warranty import CLAIM_MOVES, Span, Terms, TermsAnswer, terms_answer


@dataclass(frozen=True)
class WarrantedFailure:
    """A part under warranty that failed: at which job, and what its terms say of it."""

    warranty: Warranty
    failed_at: Job
    span: Span
    answer: TermsAnswer


def claims_open(
    *, vehicle_ids: Collection[int], at: datetime, by: AbstractBaseUser | None = None
) -> list[Claim]:
    """Open a claim for every part of these vehicles that failed within its terms and has none.

    A part whose driven distance is not known is given the benefit of the doubt: the claim opens,
    and its checklist asks for the odometer. Call it after the vehicles are settled.
    """
    opened = []
    for failure in warranted_failures(vehicle_ids=vehicle_ids):
        if failure.answer.within is False or hasattr(failure.warranty, "claim"):
            continue
        due_on = None
        if failure.warranty.claim_within_days is not None:
            due_on = failure.span.ended_on + timedelta(days=failure.warranty.claim_within_days)
        with transaction.atomic():
            claim, created = Claim.objects.get_or_create(
                warranty=failure.warranty,
                defaults={
                    "organisation": failure.failed_at.organisation,
                    "failed_at": failure.failed_at,
                    "opened_on": at.date(),
                    "due_on": due_on,
                },
            )
            if created:
                _audit(claim, AuditVerb.ADD, {"state": [None, claim.state]}, by=by, at=at)
                opened.append(claim)
    return opened


def warranted_failures(*, vehicle_ids: Collection[int]) -> list[WarrantedFailure]:
    """Parts of these vehicles that carry a warranty and were removed as failed."""
    warranties: dict[tuple[int | None, int | None, str], Warranty] = {
        (row.operation.job_id, row.operation.part_kind_id, row.operation.position): row
        for row in _warranties_of(vehicle_ids)
    }
    if not warranties:
        return []
    found = []
    warranted = {row.operation.job.vehicle_id for row in warranties.values()}
    for fitment in (
        Fitment.objects.filter(
            vehicle_id__in=warranted,
            fitted_at_id__in={job_id for job_id, _, _ in warranties},
            removed_at__isnull=False,
        )
        .select_related("removed_at__organisation")
        .order_by("pk")
    ):
        warranty = warranties.get((fitment.fitted_at_id, fitment.part_kind_id, fitment.position))
        job = fitment.removed_at
        if warranty is None or job is None or not _failed(fitment, job):
            continue
        span = _span(fitment)
        if span is not None:
            terms = Terms(warranty.months, warranty.distance_km)
            found.append(WarrantedFailure(warranty, job, span, terms_answer(terms, span)))
    return found


def _warranties_of(vehicle_ids: Collection[int]) -> Iterator[Warranty]:
    """In batches: old SQLite builds take at most 999 parameters in one query."""
    ordered = sorted(vehicle_ids)
    for start in range(0, len(ordered), BATCH_VEHICLES):
        batch = ordered[start : start + BATCH_VEHICLES]
        yield from Warranty.objects.filter(operation__job__vehicle_id__in=batch).select_related(
            "operation__job", "claim"
        )


def claim_send(
    *, claim: Claim, sent_on: date, at: datetime, by: AbstractBaseUser | None = None
) -> Claim:
    """The claim has gone to whoever gave the warranty."""
    return _move(claim, ClaimState.SENT, {"sent_on": sent_on, "decided_on": None}, by=by, at=at)


@dataclass(frozen=True)
class Settlement:
    """What came back: money, in its currency, on that day. Nought is a settlement too."""

    decided_on: date
    recovered: Decimal
    currency: str


def claim_settle(
    *, claim: Claim, settlement: Settlement, at: datetime, by: AbstractBaseUser | None = None
) -> Claim:
    """The claim was met; the money recovered is kept with it."""
    if not settlement.recovered.is_finite() or settlement.recovered < 0:
        raise RuleBroken(
            "money recovered is nought or more",
            got=settlement.recovered,
            do="Give what was paid or credited.",
            column="recovered",
        )
    if len(settlement.currency) != 3 or not settlement.currency.isalpha():
        raise RuleBroken(
            "a currency is three letters (ISO 4217)",
            got=settlement.currency or "none",
            do="Name it, such as EUR.",
            column="currency",
        )
    if claim.sent_on is not None and settlement.decided_on < claim.sent_on:
        raise RuleBroken(
            f"a claim is decided on or after the day it was sent, {claim.sent_on}",
            got=settlement.decided_on,
            do="Correct the day.",
            column="decided_on",
        )
    return _move(
        claim,
        ClaimState.SETTLED,
        {
            "decided_on": settlement.decided_on,
            "recovered": settlement.recovered,
            "currency": settlement.currency.upper(),
        },
        by=by,
        at=at,
    )


def claim_end(
    *,
    claim: Claim,
    state: str,
    reason: str,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Claim:
    """The claim was refused, or is not pursued; both need the reason."""
    if state not in (ClaimState.REFUSED, ClaimState.DROPPED):
        raise RuleBroken(
            "a claim without money ends refused or not pursued",
            got=state,
            do="Settle it instead.",
            column="state",
        )
    if not reason.strip():
        raise RuleBroken(
            "a claim ends without money for a reason",
            got="none",
            do="Say why, as the letter says it.",
            column="reason",
        )
    decided = {"decided_on": at.date()} if state == ClaimState.REFUSED else {}
    return _move(claim, state, {"reason": reason.strip()[:300]} | decided, by=by, at=at)


def claim_reopen(*, claim: Claim, at: datetime, by: AbstractBaseUser | None = None) -> Claim:
    """Take a claim up again that was not pursued."""
    return _move(claim, ClaimState.OPEN, {"reason": ""}, by=by, at=at)


def _move(
    claim: Claim,
    state: str,
    values: dict[str, Any],
    *,
    by: AbstractBaseUser | None,
    at: datetime,
) -> Claim:
    with transaction.atomic():
        row = Claim.objects.select_for_update().get(pk=claim.pk)
        if state not in CLAIM_MOVES[row.state]:
            allowed = ", ".join(CLAIM_MOVES[row.state]) or "nothing: it is over"
            raise RuleBroken(
                f"a claim that is {row.state} may become {allowed}",
                got=state,
                do="Look at the claim again; someone may have moved it.",
                column="state",
            )
        values = {"state": state} | values
        changes = {name: [getattr(row, name), value] for name, value in values.items()}
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))
        _audit(row, AuditVerb.CHANGE, changes, by=by, at=at)
    return row


def _audit(
    claim: Claim,
    verb: str,
    changes: dict[str, Any],
    *,
    by: AbstractBaseUser | None,
    at: datetime,
) -> None:
    audit_record(organisation=claim.organisation, change=Change(verb, claim, changes), by=by, at=at)


def _failed(fitment: Fitment, job: Job) -> bool:
    """By the rule of lives: nothing said counts as failed on an unplanned job."""
    if fitment.removed_because in ("", RemovedBecause.UNKNOWN):
        return was_unplanned(job.planned, complaint=job.complaint, trouble_codes=job.trouble_codes)
    return fitment.removed_because == RemovedBecause.FAILED


def _span(fitment: Fitment) -> Span | None:
    ended_on = fitment.removed_on
    if fitment.fitted_on is None or ended_on is None:
        return None
    return Span(fitment.fitted_on, ended_on, fitment.fitted_km, fitment.removed_km)

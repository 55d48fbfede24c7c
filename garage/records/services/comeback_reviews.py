"""Confirm or refuse that a job is the comeback of an earlier one."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, ComebackState
from garage.records.errors import RuleBroken
from garage.records.index_jobs import comeback_proposals
from garage.records.models import ComebackReview, Job
from garage.records.services.audit import Change, audit_record
from garage.records.services.settle import vehicles_changed

_ANSWERS = (ComebackState.CONFIRMED, ComebackState.REFUSED)


def comebacks_propose(*, job: Job, at: datetime) -> list[ComebackReview]:
    """Keep the proposals for a job that was opened; those kept before stay as they are."""
    with transaction.atomic():
        return [
            ComebackReview.objects.get_or_create(
                job=job, index_job=proposal.index_job, defaults={"at": at}
            )[0]
            for proposal in comeback_proposals(job=job)
        ]


def comeback_answer(
    *,
    review: ComebackReview,
    state: str,
    reason: str = "",
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> ComebackReview:
    """Confirm or refuse; a refusal has a reason. A later answer takes the place of an earlier."""
    if state not in _ANSWERS:
        raise RuleBroken(
            f"a comeback is {' or '.join(_ANSWERS)}", got=state, do="Say which.", column="state"
        )
    if state == ComebackState.REFUSED and not reason.strip():
        raise RuleBroken(
            "a comeback is refused for a reason",
            got="none",
            do="Say why it is another trouble, such as another bank or a sensor.",
            column="reason",
        )
    with transaction.atomic():
        row = ComebackReview.objects.select_for_update().get(pk=review.pk)
        before = row.state
        row.state, row.reason, row.at = state, reason.strip()[:300], at
        row.by_id = None if by is None else by.pk
        row.save(update_fields=["state", "reason", "at", "by"])
        # What is counted as a comeback has changed with it.
        vehicles_changed(vehicle_ids=[row.job.vehicle_id], at=at)
        audit_record(
            organisation=row.job.organisation,
            change=Change(AuditVerb.RESOLVE, row, {"state": [before, row.state]}),
            by=by,
            at=at,
        )
    return row

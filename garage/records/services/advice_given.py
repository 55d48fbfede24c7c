"""Write what was advised at a job, and what the customer chose or declined."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from garage.records.choices import AuditVerb, CustomerAnswer
from garage.records.errors import RuleBroken
from garage.records.models import AdviceGiven, Job
from garage.records.services.audit import Change, audit_record
from garage.records.texts import text_needed

_TEXT_CHARACTERS = 500
_NAME_CHARACTERS = 80


def advice_add(
    *, job: Job, text: str, at: datetime, by: AbstractBaseUser | None = None
) -> AdviceGiven:
    """Add one piece of advice to a job."""
    said = text_needed(
        text,
        column="text",
        most=_TEXT_CHARACTERS,
        rule="advice has",
        do="Say what was advised, one thing a line.",
    )
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        last = job.advice_given.aggregate(last=Max("line"))["last"] or 0
        advice = AdviceGiven.objects.create(job=job, line=last + 1, text=said)
        audit_record(
            organisation=job.organisation, change=Change(AuditVerb.ADD, advice), by=by, at=at
        )
    return advice


def advice_answer(
    *,
    advice: AdviceGiven,
    answer: str,
    answered_by: str,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> AdviceGiven:
    """The customer chose or declined it: who said so, and when. It stands from then on: it
    decides disputes."""
    if answer not in (CustomerAnswer.CHOSEN, CustomerAnswer.DECLINED):
        raise RuleBroken(
            "advice is chosen or declined", got=answer, do="Say which.", column="answer"
        )
    name = text_needed(
        answered_by,
        column="answered_by",
        most=_NAME_CHARACTERS,
        rule="an answer has the name of who gave it,",
        do="Ask for the name.",
    )
    with transaction.atomic():
        row = AdviceGiven.objects.select_for_update().select_related("job").get(pk=advice.pk)
        if row.answer != CustomerAnswer.OPEN:
            raise RuleBroken(
                "an answer once given stands",
                got=f"one that was {row.get_answer_display()}",
                do="Add the advice again as a new line, and write down the new answer there.",
                column="answer",
            )
        row.answer, row.answered_at, row.answered_by = answer, at, name
        row.save(update_fields=["answer", "answered_at", "answered_by"])
        audit_record(
            organisation=row.job.organisation,
            change=Change(AuditVerb.SIGN, row, {"answer": [CustomerAnswer.OPEN, answer]}),
            by=by,
            at=at,
        )
    return row

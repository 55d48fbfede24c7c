"""Write what was advised at a job, and what the customer chose or declined."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from garage.records.choices import AuditVerb, CustomerAnswer
from garage.records.errors import RuleBroken
from garage.records.models import AdviceGiven, Job
from garage.records.services.audit import Change, audit_record

_TEXT_CHARACTERS = 500
_NAME_CHARACTERS = 80


def advice_add(
    *, job: Job, text: str, at: datetime, by: AbstractBaseUser | None = None
) -> AdviceGiven:
    """Add one piece of advice to a job."""
    said = " ".join(text.split())
    if not 0 < len(said) <= _TEXT_CHARACTERS:
        raise RuleBroken(
            f"advice has 1 to {_TEXT_CHARACTERS} characters",
            got=f"{len(said)} characters",
            do="Say what was advised, one thing a line.",
            column="text",
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
    name = " ".join(answered_by.split())
    if answer not in (CustomerAnswer.CHOSEN, CustomerAnswer.DECLINED):
        raise RuleBroken(
            "advice is chosen or declined", got=answer, do="Say which.", column="answer"
        )
    if not 0 < len(name) <= _NAME_CHARACTERS:
        raise RuleBroken(
            f"an answer has the name of who gave it, 1 to {_NAME_CHARACTERS} characters",
            got=f"{len(name)} characters",
            do="Ask for the name.",
            column="answered_by",
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

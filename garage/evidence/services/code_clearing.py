"""Write that trouble codes were cleared, by whom: a clearing, never a repair."""

from collections.abc import Collection, Iterator
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.codes.meanings import grouped
from garage.evidence.own_wordings import own_meanings
from garage.records.choices import AuditVerb, CodeState, OperationKind, System
from garage.records.errors import RuleBroken, refuse_all
from garage.records.models import Job, TroubleCodeRead
from garage.records.services.audit import Change, audit_record
from garage.records.services.operations import OperationFacts, operation_add
from garage.records.texts import text_needed

_NAME_CHARACTERS = 80
#: Groups whose codes speak of the exhaust aftertreatment, so that their clearing is rechecked.
_OF_EXHAUST = frozenset(
    {
        "loading",
        "burn",
        "sensor",
        "soot_sensor",
        "efficiency",
        "temperature",
        "catalyst",
        "reductant",
    }
)


def codes_clear(
    *,
    job: Job,
    code_ids: Collection[int] | None,
    name: str,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> list[TroubleCodeRead]:
    """Keep that codes of a job were cleared, when and by whom; None: all that could be.

    An open job without a clearing among its operations gets one, on the exhaust aftertreatment
    where one of its codes was cleared, so that closing makes its recheck due. A permanent code is
    not cleared by a tool. Refused on a closed job that has no clearing.
    """
    who = text_needed(
        name,
        column="name",
        most=_NAME_CHARACTERS,
        rule="who cleared has a name of",
        do="Type your name.",
    )
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        codes = _chosen(job, code_ids)
        for each in codes:
            each.cleared_at, each.cleared_by_name = at, who
            each.save(update_fields=["cleared_at", "cleared_by_name"])
            audit_record(
                organisation=job.organisation,
                change=Change(AuditVerb.CHANGE, each, {"cleared_at": [None, at]}),
                by=by,
                at=at,
            )
        if not job.operations.filter(kind=OperationKind.CLEAR_CODES).exists():
            facts = OperationFacts(OperationKind.CLEAR_CODES, system=_system(job, codes))
            operation_add(job=job, facts=facts, at=at, by=by)
    return codes


def _chosen(job: Job, code_ids: Collection[int] | None) -> list[TroubleCodeRead]:
    of_job = job.codes_read.select_for_update().order_by("pk")
    if code_ids is None:
        codes = list(of_job.filter(cleared_at__isnull=True).exclude(state=CodeState.PERMANENT))
    else:
        codes = list(of_job.filter(pk__in=code_ids))
        refuse_all(_not_clearable(codes, code_ids))
    if not codes:
        raise RuleBroken(
            "codes that were read and stand can be cleared",
            got="none",
            do="Keep the codes that were read first, then say that they were cleared.",
            column="codes",
        )
    return codes


def _not_clearable(codes: list[TroubleCodeRead], code_ids: Collection[int]) -> Iterator[RuleBroken]:
    missing = set(code_ids) - {each.pk for each in codes}
    if missing:
        yield RuleBroken(
            "codes cleared at a job are those read at it",
            got=", ".join(map(str, sorted(missing))),
            do="Choose from the list.",
            column="codes",
        )
    for each in codes:
        if each.cleared_at is not None:
            yield RuleBroken(
                "a code is cleared once at its reading",
                got=f"{each.code}, cleared already",
                do="Leave it out; read again, it is a code of a later phase.",
                column="codes",
            )
        if each.state == CodeState.PERMANENT:
            yield RuleBroken(
                "no tool and no battery job lifts a permanent code",
                got=each.code,
                do="Leave it out: it goes when its own test has run and passed.",
                column="codes",
            )


def _system(job: Job, codes: list[TroubleCodeRead]) -> str:
    own = own_meanings(job.organisation_id, job.vehicle.engine_family_id)
    if _OF_EXHAUST & set(grouped((each.code for each in codes), own)):
        return System.EXHAUST_AFTERTREATMENT
    return ""

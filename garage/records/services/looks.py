"""Write down whether the part in place is the one last recorded."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from garage.records.choices import AuditVerb, FoundInPlace, OperationKind
from garage.records.errors import RuleBroken
from garage.records.models import Job, LookMissed, Operation, PartKind
from garage.records.services.audit import Change, audit_record
from garage.records.services.settle import vehicles_changed
from garage.records.texts import refuse_long

NOT_LOOKED = "not_looked"
ANSWERS = (*FoundInPlace.values, NOT_LOOKED)
_MARK_CHARACTERS = 60


@dataclass(frozen=True)
class LookAnswer:
    """What the form was told: same, another or not_looked, and the mark that was read."""

    part_kind: PartKind
    answer: str
    position: str = ""
    mark: str = ""


def look_record(
    *, job: Job, look: LookAnswer, at: datetime, by: AbstractBaseUser | None = None
) -> Operation | None:
    """Keep the answer; the operation of a look that was taken, None where nobody looked.

    A later answer at the same job takes the place of an earlier one.
    """
    mark = " ".join(look.mark.split())
    position = " ".join(look.position.casefold().split())
    if look.answer not in ANSWERS:
        raise RuleBroken(
            f"the part in place is one of {', '.join(ANSWERS)}",
            got=look.answer,
            do="Say which.",
            column="answer",
        )
    if look.answer == NOT_LOOKED and mark:
        raise RuleBroken(
            "a mark is read by looking",
            got=f"{mark}, not looked",
            do="Say whether it is the part last recorded.",
            column="mark",
        )
    refuse_long("mark", mark, _MARK_CHARACTERS)
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        # Only looks that are nothing but a look: a cleaning that also looked is left as it is.
        before = job.operations.filter(
            kind=OperationKind.INSPECT, part_kind=look.part_kind, position=position, part_origin=""
        ).exclude(found_in_place="")
        was = list(before.values_list("found_in_place", flat=True))
        before.delete()
        LookMissed.objects.filter(job=job, part_kind=look.part_kind).delete()
        operation = None
        if look.answer == NOT_LOOKED:
            LookMissed.objects.create(job=job, part_kind=look.part_kind)
        else:
            last = job.operations.aggregate(last=Max("line"))["last"] or 0
            operation = Operation.objects.create(
                job=job,
                line=last + 1,
                kind=OperationKind.INSPECT,
                system=look.part_kind.system,
                part_kind=look.part_kind,
                position=position,
                found_in_place=look.answer,
                part_mark=mark,
            )
        vehicles_changed(vehicle_ids=[job.vehicle_id], at=at)
        audit_record(
            organisation=job.organisation,
            change=Change(
                AuditVerb.CHANGE, job, {"found_in_place": [was[0] if was else None, look.answer]}
            ),
            by=by,
            at=at,
        )
    return operation

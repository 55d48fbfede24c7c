"""Merge two records that are one, and part them again without loss.

What hangs on the record that goes is moved to the one kept. What cannot move, because the kept
one has its like already, is written into the merge with everything else that undoing needs.
"""

import json
from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, MergedThing
from garage.records.errors import RuleBroken
from garage.records.models import Job, Merge, NotDuplicate, Organisation, Vehicle
from garage.records.services.audit import Change, audit_record
from garage.records.services.merge_rows import (
    DERIVED,
    FILLED,
    HANGING,
    Undo,
    end_what_is_current,
    fill,
    model_named,
    move,
    move_back,
    restore,
    snapshot,
    unfill,
)
from garage.records.services.settle import vehicles_changed


def vehicles_merge(
    *, kept: Vehicle, gone: Vehicle, reason: str, at: datetime, by: AbstractBaseUser | None = None
) -> Merge:
    """Make two vehicles one; `gone` goes, and its reference means `kept` from then on."""
    if kept.organisation_id != gone.organisation_id:
        raise RuleBroken(
            "only vehicles of one organisation are merged",
            got="vehicles of two organisations",
            do="Share the history with the keeper's consent instead.",
        )
    if kept.vin and gone.vin and kept.vin != gone.vin and not reason.strip():
        raise RuleBroken(
            "two different VINs are merged for a reason",
            got="none",
            do="Say which one is on the plate.",
            column="reason",
        )
    return _merge(kept, gone, reason, at=at, by=by)


def jobs_merge(
    *, kept: Job, gone: Job, reason: str, at: datetime, by: AbstractBaseUser | None = None
) -> Merge:
    """Make two jobs of one vehicle one; `gone` goes, its reference means `kept` from then on."""
    if kept.vehicle_id != gone.vehicle_id or kept.organisation_id != gone.organisation_id:
        raise RuleBroken(
            "only jobs of one vehicle are merged",
            got="jobs of two vehicles",
            do="Merge the vehicles first, if they are one.",
        )
    return _merge(kept, gone, reason, at=at, by=by)


def not_duplicate(
    *,
    organisation: Organisation,
    thing: str,
    ids: tuple[int, int],
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> NotDuplicate:
    """A person has looked at this pair and holds it to be two: it is not proposed again."""
    decided, _ = NotDuplicate.objects.get_or_create(
        organisation=organisation,
        thing=thing,
        one_id=min(ids),
        other_id=max(ids),
        defaults={"at": at, "by_id": None if by is None else by.pk},
    )
    return decided


def merge_undo(*, merge: Merge, at: datetime, by: AbstractBaseUser | None = None) -> None:
    """Part two merged records. What came to the kept one since the merge stays with it."""
    model = Vehicle if merge.thing == MergedThing.VEHICLE else Job
    with transaction.atomic():
        row = Merge.objects.select_for_update().get(pk=merge.pk)
        if row.undone_at is not None:
            raise RuleBroken(
                "a merge is undone once", got="one undone already", do="Merge them again first."
            )
        kept = model._default_manager.filter(pk=row.kept_id).first()
        if kept is None:
            raise RuleBroken(
                "the record kept must still be there",
                got="one merged into another since",
                do="Undo that later merge first.",
            )
        undo = Undo(**row.undo)
        unfill(kept, undo)
        restore(undo.gone)
        move_back(undo, row, model)
        restore(undo.aside)
        for name, pk, until_on in undo.ended:
            model_named(name).objects.filter(pk=pk).update(until_on=until_on)  # type: ignore[attr-defined]
        row.undone_at = at
        row.save(update_fields=["undone_at"])
        vehicle_ids = {row.kept_id, row.gone_id}
        if isinstance(kept, Job):
            vehicle_ids = {kept.vehicle_id}
        vehicles_changed(vehicle_ids=vehicle_ids, at=at)
        audit_record(
            organisation=row.organisation, change=Change(AuditVerb.UNMERGE, row), by=by, at=at
        )


def _merge(
    kept: Any, gone: Any, reason: str, *, at: datetime, by: AbstractBaseUser | None
) -> Merge:
    model = type(kept)
    if kept.pk == gone.pk:
        raise RuleBroken("a record is merged with another", got="itself", do="Choose another.")
    with transaction.atomic():
        # Locked in one order, so that two merges of one pair wait instead of blocking each other.
        locked = {
            row.pk: row
            for row in model.objects.select_for_update()
            .filter(pk__in=(kept.pk, gone.pk))
            .order_by("pk")
        }
        if len(locked) < 2:
            raise RuleBroken(
                "both records must still be there", got="one merged since", do="Look again."
            )
        kept, gone = locked[kept.pk], locked[gone.pk]
        undo = Undo(gone=snapshot([gone]))
        end_what_is_current(gone, undo, at)
        for hanging in HANGING[model]:
            move(hanging, kept, gone, undo)
        for derived, link in DERIVED[model]:
            derived._default_manager.filter(**{link: gone}).delete()
        gone_ref, gone_pk = gone.ref, gone.pk
        values = {name: getattr(gone, name) for name in FILLED[model]}
        gone.delete()
        fill(kept, values, undo)
        merge = Merge.objects.create(
            organisation=kept.organisation,
            thing=MergedThing.VEHICLE if model is Vehicle else MergedThing.JOB,
            kept_id=kept.pk,
            gone_id=gone_pk,
            gone_ref=gone_ref,
            undo=json.loads(json.dumps(vars(undo), default=str)),
            reason=reason.strip()[:300],
            at=at,
            by_id=None if by is None else by.pk,
        )
        vehicles_changed(vehicle_ids=[kept.pk if model is Vehicle else kept.vehicle_id], at=at)
        audit_record(
            organisation=kept.organisation,
            change=Change(AuditVerb.MERGE, merge),
            by=by,
            at=at,
        )
    return merge

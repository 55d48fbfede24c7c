"""What hangs on a record: moved to another when the two are merged, and moved back."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.core import serializers
from django.db import models

from garage.records.models import (
    AdviceGiven,
    Baseline,
    Call,
    CautionConfirmed,
    Claim,
    ClusterReplacement,
    ComebackReview,
    Document,
    DriveLogged,
    FindingSeen,
    Fitment,
    GaugePair,
    Job,
    Keeper,
    LookMissed,
    Merge,
    OdometerReading,
    Operation,
    OutcomeConfirmed,
    Reading,
    ReadingResolution,
    Recheck,
    RegistrationMark,
    TroubleCodeRead,
    Vehicle,
    Warranty,
)

#: What is derived anew from the facts, and so neither moves nor is kept.
DERIVED: dict[type[models.Model], tuple[tuple[type[models.Model], str], ...]] = {
    Vehicle: ((Fitment, "vehicle"),),
    Job: ((Fitment, "fitted_at"), (Fitment, "removed_at")),
}


@dataclass(frozen=True)
class Hanging:
    """Rows that hang on a record by `link`. `unlike` are the fields, the link among them, of
    which the kept record can have one row only; a row that would be a second one is set aside."""

    model: type[models.Model]
    link: str
    unlike: tuple[str, ...] = ()
    #: Where the rows are numbered within the record: the field of their number.
    numbered: str = ""
    #: Another link of the rows that cannot name the same record; a row whose would, is set aside.
    never_both: str = ""


HANGING: dict[type[models.Model], tuple[Hanging, ...]] = {
    Vehicle: (
        Hanging(RegistrationMark, "vehicle", ("mark_key",)),
        Hanging(Job, "vehicle"),
        Hanging(OdometerReading, "vehicle", ("job_id", "read_on", "typed", "unit", "source")),
        Hanging(ClusterReplacement, "vehicle", ("done_on",)),
        Hanging(Keeper, "vehicle", ("name",)),
        Hanging(Call, "vehicle", ("call_list_id",)),
    ),
    Job: (
        Hanging(
            Operation,
            "job",
            (
                "kind",
                "system",
                "part_kind_id",
                "part_named",
                "position",
                "part_origin",
                "removed_because",
                "found_in_place",
                "labour_cost",
                "parts_cost",
                "currency",
            ),
            numbered="line",
        ),
        Hanging(OdometerReading, "job", ("job_id",)),
        Hanging(AdviceGiven, "job", ("text",), numbered="line"),
        Hanging(Reading, "job"),
        Hanging(GaugePair, "job"),
        Hanging(
            TroubleCodeRead, "job", ("job_id", "phase", "ecu", "code", "failure_type", "state")
        ),
        Hanging(DriveLogged, "job"),
        Hanging(FindingSeen, "job", ("job_id", "phase", "finding")),
        Hanging(OutcomeConfirmed, "job", ("job_id", "list")),
        Hanging(CautionConfirmed, "job"),
        Hanging(Document, "job"),
        Hanging(LookMissed, "job", ("part_kind_id",)),
        Hanging(ComebackReview, "job", ("index_job_id",), never_both="index_job_id"),
        Hanging(ComebackReview, "index_job", ("job_id",), never_both="job_id"),
        Hanging(Recheck, "job", ("job_id",)),
        Hanging(Recheck, "done_at"),
        Hanging(Claim, "failed_at"),
    ),
}
#: Facts of the record itself that fill what the kept one does not know.
FILLED: dict[type[models.Model], tuple[str, ...]] = {
    Vehicle: (
        "vin",
        "engine_family_id",
        "first_used_on",
        "watched_from_new",
        "duty",
        "ended_on",
        "ended_because",
    ),
    Job: (
        "closed_on",
        "planned",
        "complaint",
        "trouble_codes",
        "repaired_elsewhere",
        "findings",
        "cause",
        "cause_note",
    ),
}
#: What goes with a row that is set aside, for it hangs on that row alone.
_BELOW: tuple[tuple[type[models.Model], str, type[models.Model]], ...] = (
    (ReadingResolution, "reading", OdometerReading),
    (Warranty, "operation", Operation),
    (Claim, "warranty", Warranty),
    (Document, "claim", Claim),
    (Baseline, "reading", Reading),
)


@dataclass
class Undo:
    """What undoing needs, as it is written into the merge."""

    gone: list[dict[str, Any]] = field(default_factory=list)
    aside: list[dict[str, Any]] = field(default_factory=list)
    #: (model, link, keys) of the rows moved, and {key: number} where they were numbered anew.
    moved: list[list[Any]] = field(default_factory=list)
    #: {field: [before, after]} of the record kept.
    filled: dict[str, list[Any]] = field(default_factory=dict)
    #: Marks and keepers that were current on the record gone, and end with the merge.
    ended: list[list[Any]] = field(default_factory=list)


def end_what_is_current(gone: Any, undo: Undo, at: datetime) -> None:
    """A vehicle bears one mark and has one keeper now: those of the record kept."""
    if not isinstance(gone, Vehicle):
        return
    for model in (RegistrationMark, Keeper):
        for row in model.objects.filter(vehicle=gone, until_on__isnull=True):
            undo.ended.append([model.__name__, row.pk, None])
            until_on = at.date()
            if row.from_on is not None and row.from_on > until_on:
                until_on = row.from_on
            model.objects.filter(pk=row.pk).update(until_on=until_on)


def move(hanging: Hanging, kept: Any, gone: Any, undo: Undo) -> None:
    manager = hanging.model._default_manager
    there = list(manager.filter(**{hanging.link: kept}).order_by("pk"))
    rows = list(manager.filter(**{hanging.link: gone}).order_by("pk"))
    taken = {_likeness(hanging, row) for row in there} if hanging.unlike else set()
    aside: list[models.Model] = []
    moving: list[models.Model] = []
    for row in rows:
        alike = hanging.unlike and _likeness(hanging, row) in taken
        with_itself = hanging.never_both and getattr(row, hanging.never_both) == kept.pk
        (aside if alike or with_itself else moving).append(row)
    if aside:
        undo.aside += snapshot([*aside, *_below(aside)])
        manager.filter(pk__in=[row.pk for row in aside]).delete()
    numbers: dict[str, int] = {}
    last = (
        max((getattr(row, hanging.numbered) for row in there), default=0) if hanging.numbered else 0
    )
    for row in moving:
        setattr(row, hanging.link, kept)
        fields = [hanging.link]
        if hanging.numbered:
            last += 1
            numbers[str(row.pk)] = getattr(row, hanging.numbered)
            setattr(row, hanging.numbered, last)
            fields.append(hanging.numbered)
        row.save(update_fields=fields)
    if moving:
        undo.moved.append(
            [hanging.model.__name__, hanging.link, [row.pk for row in moving], numbers]
        )


def _likeness(hanging: Hanging, row: models.Model) -> tuple[Any, ...]:
    """What makes a row a second one; on the record's own link every row is alike."""
    own_link = f"{hanging.link}_id"
    return tuple(getattr(row, name) for name in hanging.unlike if name != own_link)


def _below(rows: Iterable[models.Model]) -> list[models.Model]:
    """Rows that hang on these rows alone and would go with them, and theirs in turn."""
    found: list[models.Model] = []
    level = list(rows)
    while level:
        level = [
            each
            for row in level
            for model, link, above in _BELOW
            if isinstance(row, above)
            for each in model._default_manager.filter(**{link: row})
        ]
        found += level
    return found


def fill(kept: Any, values: dict[str, Any], undo: Undo) -> None:
    for name, value in values.items():
        before = getattr(kept, name)
        if before in (None, "") and value not in (None, ""):
            setattr(kept, name, value)
            undo.filled[name] = [before, value]
    if undo.filled:
        kept.save(update_fields=list(undo.filled))


def unfill(kept: Any, undo: Undo) -> None:
    changed = []
    for name, (before, after) in undo.filled.items():
        # What a person has corrected since the merge is theirs.
        if json.loads(json.dumps(getattr(kept, name), default=str)) == after:
            setattr(kept, name, before)
            changed.append(name)
    if changed:
        kept.save(update_fields=changed)


def move_back(undo: Undo, merge: Merge, model: type[models.Model]) -> None:
    for name, link, keys, numbers in undo.moved:
        rows = model_named(name)._default_manager.filter(pk__in=keys, **{link: merge.kept_id})
        for row in rows:
            setattr(row, f"{link}_id", merge.gone_id)
            fields = [link]
            if str(row.pk) in numbers:
                numbered = next(
                    each.numbered
                    for each in HANGING[model]
                    if each.model is model_named(name) and each.link == link
                )
                setattr(row, numbered, numbers[str(row.pk)])
                fields.append(numbered)
            row.save(update_fields=fields)


def snapshot(rows: list[models.Model]) -> list[dict[str, Any]]:
    told: list[dict[str, Any]] = json.loads(serializers.serialize("json", rows))
    return told


def restore(rows: list[dict[str, Any]]) -> None:
    for restored in serializers.deserialize("python", rows):
        restored.object.save(force_insert=True)


def model_named(name: str) -> type[models.Model]:
    found = {each.model.__name__: each.model for hanging in HANGING.values() for each in hanging}
    return found[name]

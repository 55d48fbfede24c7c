"""Write the audit trail: one sealed row a change, in the transaction of the change."""

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import connection, models

from garage.records.models import AuditEntry, Organisation

#: The seal before the first row of an organisation.
FIRST_SEAL = "0" * 64
#: Personal data: the trail says that it changed, never from what to what.
PERSONAL_FIELDS = frozenset(
    {"vin", "mark", "mark_key", "name", "phone", "email", "answered_by", "ref", "title"}
    | {"complaint", "findings", "note", "cause_note", "text", "reason", "document"}
)
WITHHELD = "personal, not kept here"


@dataclass(frozen=True)
class Change:
    """What was done to which record; `changes` is {field: [old, new]}.

    `reason` stays in the trail for good: a free text that the record itself keeps is not repeated
    here, for there it can be erased.
    """

    verb: str
    thing: models.Model | str
    changes: Mapping[str, Any] = field(default_factory=dict)
    reason: str = ""


def audit_record(
    *, organisation: Organisation, change: Change, by: AbstractBaseUser | None, at: datetime
) -> AuditEntry:
    """Add the row of this change; call it inside the transaction that makes the change.

    The organisation's row is locked until that transaction ends, so that serials have no gap.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("an audit row is written in the transaction of its change")
    Organisation.objects.select_for_update().only("pk").get(pk=organisation.pk)
    last = AuditEntry.objects.filter(organisation=organisation).order_by("-serial").first()
    if isinstance(change.thing, str):
        thing, thing_id = change.thing, None
    else:
        thing, thing_id = str(change.thing._meta.model_name), change.thing.pk
    entry = AuditEntry(
        organisation=organisation,
        serial=1 if last is None else last.serial + 1,
        at=at,
        by_id=None if by is None else by.pk,
        verb=change.verb,
        thing=thing,
        thing_id=thing_id,
        changes={name: _told(name, values) for name, values in change.changes.items()},
        reason=change.reason,
    )
    entry.seal = seal_of(entry, FIRST_SEAL if last is None else last.seal)
    entry.save(force_insert=True)
    return entry


def audit_record_everywhere(
    *,
    change: Change,
    by: AbstractBaseUser | None,
    at: datetime,
    among: Collection[int] | None = None,
) -> None:
    """Add the row of a change to what all organisations share, to the trail of each.

    `among` are the organisations whose figures it can change; None: every one.
    """
    organisations = Organisation.objects.order_by("pk")
    if among is not None:
        organisations = organisations.filter(pk__in=among)
    for organisation in organisations:
        audit_record(organisation=organisation, change=change, by=by, at=at)


def changes_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, list[Any]]:
    """{field: [old, new]} of the fields that differ."""
    return {
        name: [before.get(name), value]
        for name, value in after.items()
        if before.get(name) != value
    }


def seal_of(entry: AuditEntry, seal_before: str) -> str:
    """SHA-256 over the row as canonical JSON and the seal of the row before it."""
    said = json.dumps(
        [
            seal_before,
            entry.organisation_id,
            entry.serial,
            entry.at.isoformat(timespec="microseconds"),
            entry.by_id,
            entry.verb,
            entry.thing,
            entry.thing_id,
            entry.changes,
            entry.reason,
        ],
        sort_keys=True,
        ensure_ascii=False,
        separators=(",", ":"),
    )
    return hashlib.sha256(said.encode()).hexdigest()


def _told(name: str, values: Any) -> Any:
    if name in PERSONAL_FIELDS:
        return WITHHELD
    return json.loads(json.dumps(values, default=str))

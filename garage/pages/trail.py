"""Who changed what of a record, as a page tells it."""

from dataclasses import dataclass

from garage.records.audit_trail import audit_of
from garage.records.models import AuditEntry
from garage.records.permissions import Scope

#: Rows of the trail on a record's own page.
ROWS_SHOWN = 30


@dataclass(frozen=True)
class TrailRow:
    """One change: when, by whom, what."""

    entry: AuditEntry
    by: str
    words: str


def trail_told(*, scope: Scope, thing: str, thing_id: int) -> list[TrailRow]:
    """The newest changes of one record, the newest first."""
    entries = audit_of(scope=scope, thing=thing, thing_id=thing_id)[:ROWS_SHOWN]
    return [row_told(entry) for entry in entries]


def row_told(entry: AuditEntry) -> TrailRow:
    return TrailRow(
        entry,
        "the register" if entry.by is None else entry.by.get_username(),
        entry.get_verb_display() + _fields(entry),
    )


def _fields(entry: AuditEntry) -> str:
    names = ", ".join(name.removesuffix("_id").replace("_", " ") for name in entry.changes)
    return f": {names}" if names else ""

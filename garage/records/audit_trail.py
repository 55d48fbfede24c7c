"""Read the audit trail, and check that nothing is missing from it or was changed."""

from dataclasses import dataclass

from django.db.models import QuerySet

from garage.records.models import AuditEntry, Organisation
from garage.records.permissions import Scope
from garage.records.services.audit import FIRST_SEAL, seal_of

_READ_AT_ONCE = 2_000


@dataclass(frozen=True)
class AuditChecked:
    """How many rows hold from the first on; `broken_at` is the serial of the first that does not,
    None where all hold, and `words` says what is wrong with it."""

    rows: int
    broken_at: int | None
    words: str


def audit_check(*, organisation: Organisation) -> AuditChecked:
    """Walk the trail from its first row: every serial there, every seal right.

    Rows cut off at the end leave no gap behind them: compare the number of rows with that of an
    earlier check or backup.
    """
    expected, seal = 1, FIRST_SEAL
    rows = AuditEntry.objects.filter(organisation=organisation).order_by("serial")
    for entry in rows.iterator(chunk_size=_READ_AT_ONCE):
        if entry.serial != expected:
            return AuditChecked(
                expected - 1,
                expected,
                f"row {expected} is missing: row {entry.serial} follows row {expected - 1}",
            )
        if seal_of(entry, seal) != entry.seal:
            return AuditChecked(
                expected - 1, expected, f"row {expected} does not fit its seal: it was changed"
            )
        expected, seal = expected + 1, entry.seal
    return AuditChecked(expected - 1, None, "every row is there and unchanged")


def audit_of(*, scope: Scope, thing: str, thing_id: int) -> QuerySet[AuditEntry]:
    """What was done to one record, the newest first."""
    return (
        AuditEntry.objects.filter(
            organisation_id__in=scope.organisation_ids, thing=thing, thing_id=thing_id
        )
        .select_related("by")
        .order_by("-serial")
    )


def audit_listed(*, organisation: Organisation) -> QuerySet[AuditEntry]:
    """The whole trail of one organisation, the newest first."""
    return (
        AuditEntry.objects.filter(organisation=organisation)
        .select_related("by")
        .order_by("-serial")
    )

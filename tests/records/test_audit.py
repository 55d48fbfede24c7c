"""The audit trail: sealed, without gaps, and never changed."""

from datetime import UTC, datetime

import pytest
from django.db import IntegrityError, transaction

from garage.records.choices import AuditVerb
from garage.records.models import AuditEntry
from garage.records.services.audit import (
    WITHHELD,
    Change,
    audit_record,
    changes_between,
    seal_of,
)
from tests.records.factories import JobFactory, OrganisationFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def write(organisation, change=None, by=None):
    change = change or Change(AuditVerb.CHANGE, "organisation")
    with transaction.atomic():
        return audit_record(organisation=organisation, change=change, by=by, at=AT)


def test_audit_serials_count_up_within_each_organisation() -> None:
    alder, birch = OrganisationFactory(), OrganisationFactory()
    assert [write(each).serial for each in (alder, alder, birch, alder)] == [1, 2, 1, 3]


def test_audit_row_names_the_record_and_the_person() -> None:
    job, user = JobFactory(), UserFactory()
    entry = write(job.organisation, Change(AuditVerb.CLOSE, job, reason="done"), by=user)
    kept = AuditEntry.objects.get(pk=entry.pk)
    assert (kept.thing, kept.thing_id, kept.by_id, kept.reason) == ("job", job.pk, user.pk, "done")


def test_audit_row_withholds_personal_values() -> None:
    entry = write(
        OrganisationFactory(),
        Change(AuditVerb.CHANGE, "vehicle", {"vin": ["A", "B"], "duty": ["", "town"]}),
    )
    assert entry.changes == {"vin": WITHHELD, "duty": ["", "town"]}


def test_audit_seal_follows_from_the_row_and_the_one_before() -> None:
    organisation = OrganisationFactory()
    first, second = write(organisation), write(organisation)
    kept = AuditEntry.objects.get(pk=second.pk)
    assert seal_of(kept, first.seal) == second.seal
    assert seal_of(kept, "0" * 64) != second.seal
    kept.reason = "another"
    assert seal_of(kept, first.seal) != second.seal


def test_audit_row_is_never_changed() -> None:
    entry = write(OrganisationFactory())
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).update(reason="other")


def test_audit_row_is_never_deleted() -> None:
    entry = write(OrganisationFactory())
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        AuditEntry.objects.filter(pk=entry.pk).delete()
    assert AuditEntry.objects.filter(pk=entry.pk).exists()


@pytest.mark.django_db(transaction=True)
def test_audit_row_outside_a_transaction_is_refused() -> None:
    with pytest.raises(RuntimeError, match="in the transaction of its change"):
        audit_record(
            organisation=OrganisationFactory(),
            change=Change(AuditVerb.ADD, "vehicle"),
            by=None,
            at=AT,
        )


def test_changes_between_names_only_what_differs() -> None:
    assert changes_between({"a": 1, "b": 2}, {"a": 1, "b": None}) == {"b": [2, None]}


@pytest.mark.django_db(transaction=True)
def test_audit_row_written_for_good_is_kept_by_the_database() -> None:
    entry = write(OrganisationFactory())
    with pytest.raises(IntegrityError, match="append-only"):
        AuditEntry.objects.filter(pk=entry.pk).delete()

"""A gap or a change in the audit trail is found."""

import importlib
from datetime import UTC, datetime

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from garage.records.audit_trail import audit_check, audit_of
from garage.records.choices import AuditVerb
from garage.records.models import AuditEntry, Organisation
from garage.records.permissions import Scope
from garage.records.services.audit import Change, audit_record
from tests.records.factories import JobFactory, OrganisationFactory

pytestmark = pytest.mark.django_db(transaction=True)

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
APPEND_ONLY = importlib.import_module("garage.records.migrations.0004_audit_append_only")


def written(count: int) -> Organisation:
    organisation = OrganisationFactory()
    for number in range(count):
        with transaction.atomic():
            audit_record(
                organisation=organisation,
                change=Change(AuditVerb.CHANGE, "vehicle", {"duty": [number, number + 1]}),
                by=None,
                at=AT,
            )
    return organisation


@pytest.fixture
def unlocked():
    """Somebody with the database's own tools: the triggers are gone for the while."""
    with connection.schema_editor() as editor:
        APPEND_ONLY.allow(apps, editor)
    yield
    with connection.schema_editor() as editor:
        APPEND_ONLY.refuse(apps, editor)


def test_trail_that_was_left_alone_holds() -> None:
    checked = audit_check(organisation=written(3))
    assert (checked.rows, checked.broken_at) == (3, None)
    assert audit_check(organisation=OrganisationFactory()).rows == 0


def test_row_that_is_missing_is_found(unlocked: None) -> None:
    organisation = written(3)
    AuditEntry.objects.filter(serial=2).delete()
    checked = audit_check(organisation=organisation)
    assert (checked.rows, checked.broken_at) == (1, 2)
    assert "row 2 is missing" in checked.words


@pytest.mark.parametrize(
    "changed",
    [{"reason": "x"}, {"verb": "add"}, {"changes": {}}, {"thing_id": 9}, {"at": AT.replace(day=3)}],
)
def test_row_that_was_changed_is_found(unlocked: None, changed: dict) -> None:
    organisation = written(3)
    AuditEntry.objects.filter(serial=2).update(**changed)
    assert audit_check(organisation=organisation).broken_at == 2


def test_rows_numbered_anew_over_a_gap_are_found(unlocked: None) -> None:
    organisation = written(3)
    AuditEntry.objects.filter(serial=2).delete()
    AuditEntry.objects.filter(serial=3).update(serial=2)
    assert audit_check(organisation=organisation).broken_at == 2


def test_command_says_which_trail_is_broken(unlocked: None, capsys) -> None:
    organisation = written(2)
    call_command("check_audit")
    assert f"{organisation.code}: 2 rows hold" in capsys.readouterr().out
    AuditEntry.objects.filter(serial=1).delete()
    with pytest.raises(CommandError, match="1 audit trail broken"):
        call_command("check_audit", "--organisation", organisation.code)
    with pytest.raises(CommandError, match="must be recorded"):
        call_command("check_audit", "--organisation", "nowhere")


def test_what_was_done_to_a_record_is_read_within_the_scope() -> None:
    job = JobFactory()
    with transaction.atomic():
        entry = audit_record(
            organisation=job.organisation, change=Change(AuditVerb.CLOSE, job), by=None, at=AT
        )
    mine = Scope(frozenset({job.organisation_id}))
    assert list(audit_of(scope=mine, thing="job", thing_id=job.pk)) == [entry]
    assert not audit_of(scope=Scope(frozenset()), thing="job", thing_id=job.pk).exists()

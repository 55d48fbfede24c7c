"""What the database refuses of the audit trail, merges, erasures and import sources."""

from datetime import UTC, datetime

import pytest

from garage.records.models import (
    AuditEntry,
    Erasure,
    ImportRun,
    ImportSource,
    Merge,
    NotDuplicate,
    Organisation,
    TableUpload,
)
from tests.records.constraints import refused_by
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def entry(organisation: Organisation, **changed) -> AuditEntry:
    said = {"serial": 1, "at": AT, "verb": "add", "thing": "job", "seal": "0" * 64}
    return AuditEntry.objects.create(organisation=organisation, **said | changed)


def test_audit_entry_serial_once(organisation: Organisation) -> None:
    entry(organisation)
    entry(organisation, serial=2)
    entry(OrganisationFactory())
    with refused_by("audit_entry_serial_once"):
        entry(organisation)


def test_audit_entry_serial_from_one(organisation: Organisation) -> None:
    entry(organisation, serial=1)
    with refused_by("audit_entry_serial_from_one"):
        entry(organisation, serial=0)


def test_audit_entry_verb_known(organisation: Organisation) -> None:
    entry(organisation, verb="merge")
    with refused_by("audit_entry_verb_known"):
        entry(organisation, serial=2, verb="paint")


def merge(organisation: Organisation, **changed) -> Merge:
    said = {"thing": "job", "kept_id": 1, "gone_id": 2, "gone_ref": "J", "undo": {}, "at": AT}
    return Merge.objects.create(organisation=organisation, **said | changed)


def test_merge_thing_known(organisation: Organisation) -> None:
    merge(organisation, thing="vehicle")
    with refused_by("merge_thing_known"):
        merge(organisation, thing="part")


def test_merge_of_two(organisation: Organisation) -> None:
    merge(organisation)
    with refused_by("merge_of_two"):
        merge(organisation, gone_id=1)


def apart(organisation: Organisation, **changed) -> NotDuplicate:
    said = {"thing": "job", "one_id": 1, "other_id": 2, "at": AT}
    return NotDuplicate.objects.create(organisation=organisation, **said | changed)


def test_not_duplicate_once(organisation: Organisation) -> None:
    apart(organisation)
    apart(organisation, thing="vehicle")
    with refused_by("not_duplicate_once"):
        apart(organisation)


def test_not_duplicate_in_order(organisation: Organisation) -> None:
    apart(organisation)
    with refused_by("not_duplicate_in_order"):
        apart(organisation, one_id=3)


def test_erasure_because_known(organisation: Organisation) -> None:
    said = {"organisation": organisation, "at": AT, "vehicle_ids": [], "erased": {}}
    Erasure.objects.create(because="request", **said)
    with refused_by("erasure_because_known"):
        Erasure.objects.create(because="whim", **said)


def source(organisation: Organisation, name: str = "till") -> ImportSource:
    return ImportSource.objects.create(
        organisation=organisation, name=name, mapping={}, confirmed_at=AT
    )


def test_import_source_name_once(organisation: Organisation) -> None:
    source(organisation)
    source(OrganisationFactory())
    with refused_by("import_source_name_once"):
        source(organisation)


def test_import_source_named(organisation: Organisation) -> None:
    source(organisation)
    with refused_by("import_source_named"):
        source(organisation, name="")


def test_table_upload_source_named(organisation: Organisation) -> None:
    sent = {"file_name": "out.csv", "stored_as": "tables/1.csv", "mapping": {}, "uploaded_at": AT}
    TableUpload.objects.create(organisation=organisation, source_name="till", **sent)
    with refused_by("table_upload_source_named"):
        TableUpload.objects.create(organisation=organisation, source_name="", **sent)


def import_run(organisation: Organisation, **changed) -> ImportRun:
    said = {"files": {}, "folder": "imports/1", "queued_at": AT}
    return ImportRun.objects.create(organisation=organisation, **said | changed)


def test_import_run_state_known(organisation: Organisation) -> None:
    import_run(organisation, state="running")
    with refused_by("import_run_state_known"):
        import_run(organisation, state="asleep", ended_at=AT)


def test_import_run_summary_when_done(organisation: Organisation) -> None:
    import_run(organisation, state="done", ended_at=AT, summary={})
    with refused_by("import_run_summary_when_done"):
        import_run(organisation, state="done", ended_at=AT)
    with refused_by("import_run_summary_when_done"):
        import_run(organisation, state="failed", ended_at=AT, summary={})


def test_import_run_ended_when_over(organisation: Organisation) -> None:
    import_run(organisation, state="failed", ended_at=AT)
    with refused_by("import_run_ended_when_over"):
        import_run(organisation, state="failed")
    with refused_by("import_run_ended_when_over"):
        import_run(organisation, state="queued", ended_at=AT)

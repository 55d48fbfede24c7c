"""A table that was sent in: kept, mapped, imported, let go."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import call_command

from garage.records.documents import document_storage
from garage.records.errors import RuleBroken
from garage.records.models import (
    AuditEntry,
    ImportSource,
    OdometerReading,
    Operation,
    Organisation,
    TableUpload,
)
from garage.records.services.history_import import ImportRequest
from garage.records.services.table_uploads import (
    NewTable,
    upload_discard,
    upload_import,
    upload_look,
    upload_map,
    upload_mapping,
    uploads_old_discard,
)
from garage.records.tabular.settle import Setting
from tests.records.factories import OrganisationFactory
from tests.records.tables_sent import COMMA, MESSY, confirmed, new_table, sent

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = AT.date()


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory(code="alder")


def bring_in(upload: TableUpload, *, dry_run: bool = False):
    request = ImportRequest(upload.organisation.code, {}, TODAY, AT, dry_run=dry_run)
    return upload_import(upload=upload, request=request)


def test_a_table_sent_in_is_kept_with_a_proposal(organisation: Organisation) -> None:
    upload = sent(organisation)
    assert document_storage().exists(upload.stored_as)
    assert "jobs" in [each.kind for each in upload_mapping(upload).kinds]
    assert AuditEntry.objects.get().verb == "add"


@pytest.mark.parametrize(
    ("new", "column"),
    [
        (new_table(source_name=" "), "source_name"),
        (new_table(size_bytes=0), "content"),
        (new_table(size_bytes=20_000_001), "content"),
        (new_table("PK\x03\x04 no workbook"), "content"),
    ],
)
def test_what_is_no_table_is_refused_and_not_kept(
    organisation: Organisation, new: NewTable, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        sent(organisation, new)
    assert refused.value.column == column
    assert not TableUpload.objects.exists()


def test_the_look_asks_what_words_mean_and_what_is_not_proven(organisation: Organisation) -> None:
    upload = sent(organisation)
    mapping = replace(confirmed(upload), values={}, rules=())
    look = upload_look(upload=upload, mapping=mapping, as_of=TODAY)
    asked = {each.value: {m.column: m.proposed for m in each.meanings} for each in look.values}
    assert asked["R&R filter"]["operation"] == "replace"
    assert [(each.source, each.setting) for each in look.settings] == [
        ("Mileage (km)", Setting.DECIMAL_SIGN)
    ]
    assert all("odometer" in row.held for row in look.preview if row.kind == "jobs")


def test_the_look_shows_what_was_said(organisation: Organisation) -> None:
    upload = sent(organisation)
    look = upload_look(upload=upload, mapping=confirmed(upload), as_of=TODAY)
    assert [each.said for each in look.settings] == ["comma"]
    assert {m.said for each in look.values for m in each.meanings} == {
        "replace", "particulate_filter", "other", ""
    }  # fmt: skip
    assert all(row.lands for row in look.preview)


def test_a_mapping_that_does_not_hold_together_is_refused(organisation: Organisation) -> None:
    upload = sent(organisation)
    broken = replace(confirmed(upload), rules=(replace(COMMA, value="dot"),))
    with pytest.raises(RuleBroken, match="one of point, comma"):
        upload_map(upload=upload, mapping=broken, at=AT)
    upload.refresh_from_db()
    assert upload_mapping(upload).rules == ()


def test_a_confirmed_table_lands_whole_and_its_mapping_is_kept(
    organisation: Organisation, django_capture_on_commit_callbacks
) -> None:
    upload = sent(organisation)
    upload = upload_map(upload=upload, mapping=confirmed(upload), at=AT)
    tried = bring_in(upload, dry_run=True)
    assert tried["is_whole"]
    assert not Operation.objects.exists()
    assert TableUpload.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        imported = bring_in(upload)
    assert imported["is_whole"]
    assert Operation.objects.filter(part_kind__code="particulate_filter").count() == 2
    assert sorted(OdometerReading.objects.values_list("km", flat=True)) == [84_512, 91_003, 99_870]
    assert ImportSource.objects.get().name == "till"
    assert not TableUpload.objects.exists()
    assert not document_storage().exists(upload.stored_as)


def test_a_table_with_rows_that_wait_stays(organisation: Organisation) -> None:
    upload = sent(organisation)
    mapping = replace(confirmed(upload), rules=())
    upload = upload_map(upload=upload, mapping=mapping, at=AT)
    came = bring_in(upload)
    assert (came["is_whole"], came["held_rows"]) == (False, 3)
    assert came["held"][0] == {
        "source_row": 2,
        "column": "odometer",
        "text": "84.512",
        "readings": "84.51 | 84512",
        "reason": came["held"][0]["reason"],
    }
    assert TableUpload.objects.exists()


def test_the_next_table_of_a_source_comes_with_its_mapping(organisation: Organisation) -> None:
    upload = sent(organisation)
    bring_in(upload_map(upload=upload, mapping=confirmed(upload), at=AT))
    again = sent(organisation)
    assert upload_mapping(again).rules == (COMMA,)
    other = sent(organisation, new_table(source_name="another till"))
    assert upload_mapping(other).rules == ()
    elsewhere = sent(OrganisationFactory())
    assert upload_mapping(elsewhere).rules == ()


def test_a_table_of_other_columns_is_proposed_anew(organisation: Organisation) -> None:
    upload = sent(organisation)
    bring_in(upload_map(upload=upload, mapping=confirmed(upload), at=AT))
    again = sent(organisation, new_table(MESSY.replace("Mileage (km)", "km")))
    assert upload_mapping(again).headers == ("Vehicle", "Date", "km", "Work")


def test_a_table_let_go_takes_its_file_along(
    organisation: Organisation, django_capture_on_commit_callbacks
) -> None:
    upload = sent(organisation)
    stored_as = upload.stored_as
    with django_capture_on_commit_callbacks(execute=True):
        upload_discard(upload=upload, at=AT)
    assert not TableUpload.objects.exists()
    assert not document_storage().exists(stored_as)


def test_tables_nobody_came_back_to_are_let_go(organisation: Organisation) -> None:
    sent(organisation)
    assert uploads_old_discard(organisation=organisation, at=AT + timedelta(days=30)) == 0
    assert uploads_old_discard(organisation=organisation, at=AT + timedelta(days=31)) == 1
    sent(organisation)
    TableUpload.objects.update(uploaded_at=datetime(2020, 1, 1, tzinfo=UTC))
    call_command("erase_personal", dry_run=True)
    assert TableUpload.objects.exists()
    call_command("erase_personal")
    assert not TableUpload.objects.exists()

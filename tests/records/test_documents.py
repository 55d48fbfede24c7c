"""Photos and documents: typed by content, stored apart, opened only by those who may."""

import io
from datetime import UTC, datetime

import pytest
from django.http import Http404

from garage.records.documents import (
    MOST_BYTES,
    Upload,
    access_document,
    content_type_of,
    document_storage,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Document
from garage.records.services.documents import document_add, document_remove
from tests.records.cast import cast_make
from tests.records.factories import JobFactory, VehicleFactory

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\x00" * 100
PDF = b"%PDF-1.7\n" + b"x" * 50 + b"\n%%EOF"
PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + b"\x00" * 50
WEBP = b"RIFF\x24\x00\x00\x00WEBPVP8 " + b"\x00" * 30
HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 30


def upload(content: bytes = JPEG, **changed) -> Upload:
    said = {"title": "Filter face", "kind": "photo", "size_bytes": len(content)} | changed
    return Upload(content=io.BytesIO(content), **said)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (JPEG, "image/jpeg"),
        (PNG, "image/png"),
        (WEBP, "image/webp"),
        (HEIC, "image/heif"),
        (PDF, "application/pdf"),
    ],
)
def test_content_type_is_read_from_the_content(content: bytes, said: str) -> None:
    assert content_type_of(upload(content)) == said


@pytest.mark.parametrize(
    "content",
    [
        b"<!DOCTYPE html><script>alert(1)</script>",
        b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="x"/>',
        b"just text",
        b"MZ" + b"\x00" * 200,
        b"PK\x03\x04" + b"\x00" * 100,
    ],
)
def test_content_type_that_is_no_photo_or_paper_is_refused(content: bytes) -> None:
    with pytest.raises(RuleBroken, match="by its content"):
        content_type_of(upload(content))


@pytest.mark.parametrize("size", [0, MOST_BYTES + 1])
def test_document_size_is_limited(size: int) -> None:
    content_type_of(upload(size_bytes=MOST_BYTES))
    with pytest.raises(RuleBroken, match="bytes"):
        content_type_of(upload(size_bytes=size))


@pytest.mark.django_db
def test_document_is_kept_under_a_name_of_our_own() -> None:
    job = JobFactory()
    document = document_add(belongs_to=job, upload=upload(title="../../x.html"), at=AT)
    assert document.job == job
    assert document.stored_as.endswith(".jpg")
    assert "x.html" not in document.stored_as
    with document_storage().open(document.stored_as) as kept:
        assert kept.read() == JPEG
    assert len(document.sha256) == 64


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changed", "column"), [({"title": " "}, "title"), ({"kind": "x"}, "kind")]
)
def test_document_without_its_words_is_refused(changed: dict, column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        document_add(belongs_to=JobFactory(), upload=upload(**changed), at=AT)
    assert refused.value.column == column
    assert not Document.objects.exists()


@pytest.mark.django_db
def test_document_file_goes_again_where_the_row_cannot_be_written(monkeypatch) -> None:
    stored = []
    storage = document_storage()
    keep = storage.save
    monkeypatch.setattr(storage, "save", lambda *said: stored.append(keep(*said)) or stored[-1])
    monkeypatch.setattr(
        "garage.records.services.documents.audit_record",
        lambda **_said: (_ for _ in ()).throw(OSError("no room")),
    )
    with pytest.raises(OSError, match="no room"):
        document_add(belongs_to=JobFactory(), upload=upload(), at=AT)
    assert len(stored) == 1
    assert not storage.exists(stored[0])


@pytest.mark.django_db
def test_document_removed_takes_its_file_with_it(django_capture_on_commit_callbacks) -> None:
    document = document_add(belongs_to=JobFactory(), upload=upload(), at=AT)
    with pytest.raises(RuleBroken, match="for a reason"):
        document_remove(document=document, reason=" ", at=AT)
    with django_capture_on_commit_callbacks(execute=True):
        document_remove(document=document, reason="wrong vehicle", at=AT)
    assert not document_storage().exists(document.stored_as)
    assert not Document.objects.exists()
    assert AuditEntry.objects.filter(verb="remove", reason="wrong vehicle").exists()


@pytest.mark.django_db
def test_document_of_another_organisation_is_not_found() -> None:
    cast = cast_make()
    job = JobFactory(vehicle=VehicleFactory(organisation=cast.alder))
    document = document_add(belongs_to=job, upload=upload(), at=AT)
    assert access_document(scope=cast.scope(cast.alder), document_id=document.pk) == document
    with pytest.raises(Http404):
        access_document(scope=cast.scope(cast.cedar), document_id=document.pk)
    with pytest.raises(Http404):
        access_document(scope=cast.scope(cast.alder), document_id=document.pk + 1)

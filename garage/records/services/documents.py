"""Keep and remove photos and documents of jobs and claims."""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.core.files import File
from django.db import transaction

from garage.records.choices import AuditVerb, DocumentKind
from garage.records.documents import EXTENSIONS, Upload, content_type_of, document_storage
from garage.records.errors import RuleBroken
from garage.records.models import Claim, Document, Job
from garage.records.services.audit import Change, audit_record
from garage.records.texts import text_needed

_TITLE_CHARACTERS = 120


def document_add(
    *, belongs_to: Job | Claim, upload: Upload, at: datetime, by: AbstractBaseUser | None = None
) -> Document:
    """Keep a file with a job or a claim; RuleBroken where its type, size or words are not right.

    The file is stored first, under a name of our own; where the row cannot be written it goes
    again.
    """
    title = text_needed(
        upload.title,
        column="title",
        most=_TITLE_CHARACTERS,
        rule="a document has a title of",
        do="Say in a few words what it shows.",
    )
    if upload.kind not in DocumentKind.values:
        raise RuleBroken(
            f"a document is one of {', '.join(DocumentKind.values)}",
            got=upload.kind,
            do="Name its kind.",
            column="kind",
        )
    content_type = content_type_of(upload)
    # Two letters of the name are a folder: no folder of a busy workshop holds all its photos.
    token = secrets.token_hex(20)
    storage = document_storage()
    stored_as = storage.save(
        f"{token[:2]}/{token}.{EXTENSIONS[content_type]}", File(upload.content)
    )
    try:
        with transaction.atomic():
            document = Document.objects.create(
                organisation=belongs_to.organisation,
                job=belongs_to if isinstance(belongs_to, Job) else None,
                claim=belongs_to if isinstance(belongs_to, Claim) else None,
                kind=upload.kind,
                title=title,
                stored_as=stored_as,
                content_type=content_type,
                size_bytes=upload.size_bytes,
                sha256=_digest(upload),
                added_at=at,
                added_by_id=None if by is None else by.pk,
            )
            audit_record(
                organisation=belongs_to.organisation,
                change=Change(AuditVerb.ADD, document, {"kind": [None, document.kind]}),
                by=by,
                at=at,
            )
    except BaseException:
        storage.delete(stored_as)
        raise
    return document


def document_remove(
    *, document: Document, reason: str, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Remove a document and its file; the audit trail keeps that it was there, and the reason.

    The reason stays for good: it names nobody.
    """
    if not reason.strip():
        raise RuleBroken(
            "a document is removed for a reason", got="none", do="Say why.", column="reason"
        )
    with transaction.atomic():
        audit_record(
            organisation=document.organisation,
            change=Change(AuditVerb.REMOVE, document, reason=reason.strip()),
            by=by,
            at=at,
        )
        documents_delete([document])


def documents_delete(documents: Iterable[Document]) -> int:
    """Delete rows now and their files once the transaction holds; the caller writes the audit."""
    rows = list(documents)
    names = [row.stored_as for row in rows]
    Document.objects.filter(pk__in=[row.pk for row in rows]).delete()
    storage = document_storage()

    def delete_files() -> None:
        for name in names:
            storage.delete(name)

    transaction.on_commit(delete_files)
    return len(rows)


def _digest(upload: Upload) -> str:
    upload.content.seek(0)
    digest = hashlib.sha256()
    for piece in File(upload.content).chunks():
        digest.update(piece)
    return digest.hexdigest()

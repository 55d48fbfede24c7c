"""Keep a table that somebody sent in while a person maps it, then import it."""

import json
import secrets
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

from django.contrib.auth.models import AbstractBaseUser
from django.core.files import File
from django.db import transaction

from garage.records.choices import AuditVerb
from garage.records.documents import document_storage
from garage.records.errors import RuleBroken
from garage.records.importing.faults import ImportRefused
from garage.records.importing.told import Told
from garage.records.models import ImportSource, Organisation, TableUpload
from garage.records.services.audit import Change, audit_record
from garage.records.services.history_import import ImportRequest
from garage.records.services.table_import import (
    TableImported,
    source_confirm,
    source_mapping,
    table_import,
)
from garage.records.tabular.errors import MappingInvalid, TableUnreadable
from garage.records.tabular.fits import mapping_fits
from garage.records.tabular.look import TableLook, mapping_first, table_look
from garage.records.tabular.mapping import Mapping, mapping_json, mapping_load
from garage.records.tabular.reading import RawTable, table_read
from garage.records.texts import text_needed

#: What a page reads through in a few seconds; longer tables go in by the terminal. Judgement.
MOST_BYTES = 20_000_000
#: A table nobody came back to. Judgement.
KEPT_DAYS = 30
_FILE_NAME_CHARACTERS = 120
#: The ending tells a spreadsheet from text; the name itself is ours.
_ENDINGS = (".csv", ".xlsx", ".txt", ".tsv")


@dataclass(frozen=True)
class NewTable:
    """A file as it was sent, and where it comes from."""

    source_name: str
    file_name: str
    content: BinaryIO
    size_bytes: int


def table_upload(
    *,
    organisation: Organisation,
    new: NewTable,
    as_of: date,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> TableUpload:
    """Keep the file, with the mapping kept for its source or else one proposed from it."""
    source_name = text_needed(
        new.source_name,
        column="source_name",
        most=80,
        rule="a source has a name of",
        do="Name where the file comes from.",
    )
    if not 0 < new.size_bytes <= MOST_BYTES:
        raise RuleBroken(
            f"a table sent here has 1 to {MOST_BYTES:,} bytes".replace(",", " "),
            got=f"{new.size_bytes:,} bytes".replace(",", " "),
            do="Send it in parts, or import it with manage.py import_table.",
            column="content",
        )
    ending = next((each for each in _ENDINGS if new.file_name.lower().endswith(each)), ".csv")
    storage = document_storage()
    token = secrets.token_hex(20)
    stored_as = storage.save(f"tables/{token}{ending}", File(new.content))
    try:
        with _opened(stored_as) as table, transaction.atomic():
            upload = TableUpload.objects.create(
                organisation=organisation,
                source_name=source_name,
                file_name=Path(new.file_name).name[-_FILE_NAME_CHARACTERS:],
                stored_as=stored_as,
                mapping=json.loads(
                    mapping_json(_first_mapping(organisation, source_name, table, as_of))
                ),
                uploaded_at=at,
                by_id=None if by is None else by.pk,
            )
            audit_record(
                organisation=organisation, change=Change(AuditVerb.ADD, upload), by=by, at=at
            )
    except BaseException:
        storage.delete(stored_as)
        raise
    return upload


def upload_look(*, upload: TableUpload, mapping: Mapping, as_of: date) -> TableLook:
    """Everything a person needs to see of the table to confirm this mapping."""
    with _opened(upload.stored_as) as table:
        return table_look(table, mapping, as_of=as_of)


def upload_mapping(upload: TableUpload) -> Mapping:
    return mapping_load(json.dumps(upload.mapping))


def upload_map(
    *, upload: TableUpload, mapping: Mapping, at: datetime, by: AbstractBaseUser | None = None
) -> TableUpload:
    """Keep what a person said of the columns, values and ambiguous cells so far."""
    said = mapping_json(mapping)
    try:
        mapping_load(said)
    except MappingInvalid as invalid:
        raise RuleBroken(
            "a mapping holds together",
            got="; ".join(invalid.faults),
            do="Correct what is named.",
        ) from invalid
    with transaction.atomic():
        row = TableUpload.objects.select_for_update().get(pk=upload.pk)
        row.mapping = json.loads(said)
        row.save(update_fields=["mapping"])
        audit_record(
            organisation=row.organisation, change=Change(AuditVerb.CHANGE, row), by=by, at=at
        )
    return row


def upload_import(
    *, upload: TableUpload, request: ImportRequest, by: AbstractBaseUser | None = None
) -> Told:
    """Import the table by its mapping, keep the mapping for its source, and let the file go.

    All of it or nothing; a dry run records and keeps nothing. The files of `request` are those
    made here. RuleBroken says what stops it.
    """
    mapping = upload_mapping(upload)
    with tempfile.TemporaryDirectory() as name, _opened(upload.stored_as) as table:
        try:
            with transaction.atomic():
                imported = table_import(
                    table=table, mapping=mapping, folder=Path(name), request=request, by=by
                )
                # Told while the files that it tells of are still there.
                told = imported.told()
                if not request.dry_run:
                    _landed(upload, mapping, imported, at=request.now, by=by)
        except (ImportRefused, MappingInvalid) as refused:
            raise RuleBroken(
                "a table is imported by a mapping that fits it",
                got="; ".join(refused.faults),
                do="Look through the columns and the preview.",
            ) from refused
    return told


def _landed(
    upload: TableUpload,
    mapping: Mapping,
    imported: TableImported,
    *,
    at: datetime,
    by: AbstractBaseUser | None,
) -> None:
    """Keep the mapping for its source; where every row landed, let the table go."""
    source_confirm(
        organisation=upload.organisation, name=upload.source_name, mapping=mapping, at=at, by=by
    )
    if imported.is_whole:
        upload_discard(upload=upload, at=at, by=by)


def upload_discard(
    *, upload: TableUpload, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Let the file and its draft go; what was imported of it stays."""
    with transaction.atomic():
        audit_record(
            organisation=upload.organisation, change=Change(AuditVerb.REMOVE, upload), by=by, at=at
        )
        stored_as = upload.stored_as
        upload.delete()
        transaction.on_commit(lambda: document_storage().delete(stored_as))


def uploads_old_discard(*, organisation: Organisation, at: datetime) -> int:
    """Let go of tables that nobody came back to: they hold personal data."""
    old = TableUpload.objects.filter(
        organisation=organisation, uploaded_at__lt=at - timedelta(days=KEPT_DAYS)
    )
    found = list(old)
    for each in found:
        upload_discard(upload=each, at=at)
    return len(found)


def _first_mapping(
    organisation: Organisation, source_name: str, table: RawTable, as_of: date
) -> Mapping:
    """The mapping kept for the source where it fits this table; else the one proposed."""
    kept = ImportSource.objects.filter(organisation=organisation, name=source_name)
    if kept.exists():
        mapping = source_mapping(organisation=organisation, name=source_name)
        if mapping_fits(mapping, table).fits:
            return mapping
    return mapping_first(table, as_of=as_of)


@contextmanager
def _opened(stored_as: str) -> Iterator[RawTable]:
    """The stored file as a table, by a path of its own while it is read."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / Path(stored_as).name
        with document_storage().open(stored_as) as stored, path.open("wb") as copy:
            for piece in stored.chunks():
                copy.write(piece)
        try:
            yield table_read(path)
        except TableUnreadable as unreadable:
            raise RuleBroken(
                "a table is CSV or XLSX",
                got=str(unreadable),
                do="Save it as XLSX or CSV and send it again.",
                column="content",
            ) from unreadable

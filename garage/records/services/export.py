"""Take out everything an organisation owns; the audit trail keeps who did."""

import logging
from datetime import datetime
from typing import BinaryIO

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb
from garage.records.exporting.document import document_write
from garage.records.exporting.files import FILES, csv_write
from garage.records.exporting.moment import one_moment
from garage.records.exporting.places import ArchivePlace, Place
from garage.records.models import Organisation
from garage.records.services.audit import Change, audit_record

logger = logging.getLogger(__name__)

DOCUMENT_NAME = "records.json"


def records_export(
    *,
    organisation: Organisation,
    place: Place,
    with_document: bool = True,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> dict[str, int]:
    """Write the files of the import form, and the JSON document, to a place; the rows of each.

    The row of the trail comes first, in a transaction of its own: a long reading then holds up no
    writer, and what broke off on its way out is kept as well.
    """
    names = [f"{kind.name}.csv" for kind, _ in FILES] + [DOCUMENT_NAME] * with_document
    with transaction.atomic():
        audit_record(
            organisation=organisation,
            change=Change(AuditVerb.EXPORT, "records", {"files": [None, names]}),
            by=by,
            at=at,
        )
    counts = {}
    with one_moment():
        for kind, rows_of in FILES:
            with place.file(f"{kind.name}.csv") as out:
                counts[f"{kind.name}.csv"] = csv_write(kind, rows_of(organisation), out)
        if with_document:
            with place.file(DOCUMENT_NAME) as out:
                counts[DOCUMENT_NAME] = document_write(organisation, out, at=at)
    logger.info(
        "export organisation=%s by=%s rows=%s",
        organisation.pk,
        None if by is None else by.pk,
        sum(counts.values()),
    )
    return counts


def archive_export(
    *, organisation: Organisation, out: BinaryIO, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Write all files as one ZIP."""
    place = ArchivePlace(out, at=at)
    records_export(organisation=organisation, place=place, at=at, by=by)
    place.close()

"""The JSON document of an export: everything the organisation owns, written row by row."""

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, TextIO

from garage.records.exporting.sections import SECTIONS, Section, organisation_fields
from garage.records.exporting.tables import FETCHED
from garage.records.models import Organisation

FORM = "comeback register export"
#: Rises when a reader of the old form would misread the new one.
FORM_VERSION = 1


def document_write(organisation: Organisation, out: TextIO, *, at: datetime) -> int:
    """Write the document, one record a line; how many records it holds. `at` is when it is made."""
    head = {
        "form": FORM,
        "version": FORM_VERSION,
        "exported_at": at,
        "organisation": {
            field.name: getattr(organisation, field.name) for field in organisation_fields()
        },
    }
    out.write("{\n" + ",\n".join(f"{_json(name)}: {_json(value)}" for name, value in head.items()))
    count = 0
    for section in SECTIONS:
        out.write(f",\n{_json(section.name)}: [")
        begin = "\n"
        for record in _records(section, organisation):
            out.write(begin + _json(record))
            begin = ",\n"
            count += 1
        out.write("\n]")
    out.write("\n}\n")
    return count


def _records(section: Section, organisation: Organisation) -> Iterator[dict[str, Any]]:
    fields = section.fields
    names = [field.name for field in fields]
    rows = section.rows(organisation).values_list(*(field.asked_for for field in fields))
    for row in rows.iterator(chunk_size=FETCHED):
        yield dict(zip(names, row, strict=True))


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=_plain)


def _plain(value: object) -> str:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    raise TypeError(f"no form in the document for {type(value).__name__}")

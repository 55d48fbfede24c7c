"""Ask the database for many texts at once."""

import json
from collections.abc import Collection

from django.db import connection
from django.db.models.expressions import RawSQL


def listed(texts: Collection[str]) -> RawSQL:
    """These texts for a lookup with ``in``, as one value: many take long to put in a statement."""
    if connection.vendor == "postgresql":
        return RawSQL("SELECT unnest(%s::text[])", [list(texts)])
    return RawSQL("SELECT value FROM json_each(%s)", [json.dumps(list(texts))])

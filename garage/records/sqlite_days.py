"""Read days from SQLite, which holds them as texts, no oftener than they differ."""

import sqlite3
from datetime import date
from functools import lru_cache

from django.db import connection
from django.utils.dateparse import parse_date

#: Days remembered; a century has 36 525. Reading one anew takes as long as the rest of its row.
DAYS_REMEMBERED = 65_536


def days_remember() -> None:
    """Let this process read every date column so."""
    if connection.vendor == "sqlite":
        # The driver's converters are set when Django first names the connection, so before this.
        sqlite3.register_converter("date", day_read)


@lru_cache(DAYS_REMEMBERED)
def day_read(text: bytes) -> date | None:
    """The day that SQLite holds as this text."""
    return parse_date(text.decode())

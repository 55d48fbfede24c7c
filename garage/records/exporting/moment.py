"""Read long and hold nobody up: the records as they were at one moment."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def one_moment() -> Iterator[None]:
    """Around reads that must fit each other, however many there are and whoever writes meanwhile.

    Nothing can be written inside. Within a transaction it is that transaction which decides.
    """
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        with _sqlite_read():
            yield
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


@contextmanager
def _sqlite_read() -> Iterator[None]:
    """A transaction that takes no lock of writers: atomic() would take it (transaction_mode)."""
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")

"""Insert and update many rows of one model at once, as values, not by statements Django makes.

Building a model object and Django's statement for it takes most of the time of a large import; the
rows here were checked value by value already. PostgreSQL takes them by COPY.
"""

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import cache, lru_cache, partial
from itertools import chain
from operator import attrgetter
from typing import Any

from django.db import connection, models

Row = tuple[Any, ...]

#: Days remembered in the form that the database takes; enough for years of them.
DAYS_REMEMBERED = 32_768
#: Rows handed to SQLite in one statement; more are no quicker. Measured.
ROWS_A_STATEMENT = 512
#: Fields whose values each database takes in a form of its own.
_ADAPTED = (models.DateField, models.DecimalField, models.JSONField)


def rows_insert(model: type[models.Model], names: Sequence[str], rows: Sequence[Row]) -> None:
    """Insert rows of values in the order of `names`; other fields get the model's default."""
    if not rows:
        return
    by_name = {field.name: field for field in model._meta.concrete_fields}
    fields = [by_name[name] for name in names]
    others = [field for field in by_name.values() if field not in fields and not field.primary_key]
    defaults = tuple(field.get_db_prep_save(field.get_default(), connection) for field in others)
    quote = connection.ops.quote_name
    columns = [quote(str(field.column)) for field in (*fields, *others)]
    write = _copied if connection.vendor == "postgresql" else _inserted
    write(quote(model._meta.db_table), columns, _adapted(fields, rows, defaults))


def models_update(made: Sequence[models.Model], names: Sequence[str]) -> None:
    """Write these fields of rows that have keys; the other fields stay as they are recorded."""
    if not made:
        return
    model = type(made[0])
    by_name = {field.name: field for field in model._meta.concrete_fields}
    fields = [by_name[name] for name in names] + [model._meta.pk]
    quote = connection.ops.quote_name
    *columns, key = [f"{quote(str(field.column))} = %s" for field in fields]
    statement = f"UPDATE {quote(model._meta.db_table)} SET {', '.join(columns)} WHERE {key}"
    values = attrgetter(*(field.attname for field in fields))
    with connection.cursor() as cursor:
        cursor.executemany(statement, list(_adapted(fields, [values(each) for each in made], ())))


def keys_reserve(model: type[models.Model], number: int) -> list[int]:
    """So many keys that no other row of the model has or will get, in rising order.

    On SQLite they are kept by the transaction alone: insert the rows before it ends.
    """
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)",
                [table, number],
            )
            return sorted(key for (key,) in cursor.fetchall())
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        found = cursor.fetchone()
        last = found[0] if found else 0
        return list(range(last + 1, last + 1 + number))


def _copied(table: str, columns: Sequence[str], rows: Iterator[Row]) -> None:
    statement = f"COPY {table} ({', '.join(columns)}) FROM STDIN"
    # Django names the database's errors for the calls that it knows; copying is none of them.
    with (
        connection.cursor() as cursor,
        connection.wrap_database_errors,
        cursor.copy(statement) as copy,
    ):
        for row in rows:
            copy.write_row(row)


def _inserted(table: str, columns: Sequence[str], rows: Iterator[Row]) -> None:
    """Many rows a statement: SQLite makes the lists of a check anew for each statement it runs, and
    that took half of the time of inserting. Measured."""
    connection.ensure_connection()
    raw = connection.connection
    limit = raw.getlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER) // len(columns)
    # Sizes come again, so that the driver has nearly every statement ready.
    size = 1 << (min(limit, ROWS_A_STATEMENT).bit_length() - 1)
    found = list(rows)
    start = 0
    # Django would look through each of these long statements for what it calls its values.
    with connection.wrap_database_errors:
        while start < len(found):
            while size > len(found) - start:
                size //= 2
            values = list(chain.from_iterable(found[start : start + size]))
            raw.execute(_insert_statement(table, tuple(columns), size), values)
            start += size


@lru_cache(maxsize=256)
def _insert_statement(table: str, columns: tuple[str, ...], rows: int) -> str:
    places = f"({', '.join('?' * len(columns))})"
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES {', '.join([places] * rows)}"


def _adapted(
    fields: "Sequence[models.Field[Any, Any]]", rows: Sequence[Row], defaults: Row
) -> Iterator[Row]:
    """The rows as the database takes them, defaults behind; column by column, for few columns
    need a change."""
    columns = list(zip(*rows, strict=True))
    for place, field in enumerate(fields):
        if isinstance(field, _ADAPTED) and columns[place].count(None) < len(rows):
            columns[place] = tuple(map(_adapter(field), columns[place]))
    # A column of a default is that one value as often as there are rows.
    return zip(*columns, *([each] * len(rows) for each in defaults), strict=True)


def _adapter(field: "models.Field[Any, Any]") -> Callable[[Any], Any]:
    if isinstance(field, models.DecimalField):
        return partial(_decimal_taken, field)
    if isinstance(field, models.JSONField):
        return partial(_json_taken, field, field.get_db_prep_save([], connection))
    return _remembering(field)


@cache
def _remembering(field: "models.Field[Any, Any]") -> Callable[[Any], Any]:
    """Days come again and again."""
    return lru_cache(maxsize=DAYS_REMEMBERED)(
        lambda value: None if value is None else field.get_db_prep_save(value, connection)
    )


def _json_taken(field: "models.JSONField[Any, Any]", empty: Any, value: Any) -> Any:
    """What the field makes of a value; most are empty lists, and making JSON takes long."""
    if value is None:
        return None
    return empty if value == [] else field.get_db_prep_save(value, connection)


def _decimal_taken(field: "models.DecimalField[Any, Any]", value: Any) -> Any:
    """What the field makes of a number; a finite Decimal it leaves as it is."""
    if value is None or (type(value) is Decimal and value.is_finite()):
        return value
    return field.get_db_prep_save(value, connection)

"""Insert many rows of one model at once, given as values and not as model objects.

Building a model object and Django's statement for it takes most of the time of a large import; the
rows here were checked value by value already.
"""

from collections.abc import Callable, Sequence
from typing import Any

from django.db import connection, models

#: Fields whose values each database takes in a form of its own.
_ADAPTED = (models.DateField, models.DecimalField, models.JSONField)


def rows_insert(
    model: type[models.Model], names: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    """Insert rows of values in the order of `names`; other fields get the model's default."""
    if not rows:
        return
    by_name = {field.name: field for field in model._meta.concrete_fields}
    fields = [by_name[name] for name in names]
    others = [field for field in by_name.values() if field not in fields and not field.primary_key]
    given = [_adapter(field) for field in fields]
    defaults = tuple(field.get_db_prep_save(field.get_default(), connection) for field in others)
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in (*fields, *others))
    places = ", ".join(["%s"] * (len(fields) + len(others)))
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"
    with connection.cursor() as cursor:
        cursor.executemany(
            statement,
            [
                (
                    *(
                        value if adapt is None or value is None else adapt(value)
                        for adapt, value in zip(given, row, strict=True)
                    ),
                    *defaults,
                )
                for row in rows
            ],
        )


def _adapter(field: "models.Field[Any, Any]") -> Callable[[Any], Any] | None:
    if isinstance(field, _ADAPTED):
        return lambda value: field.get_db_prep_save(value, connection)
    return None

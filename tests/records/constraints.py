"""Asserts that the database refuses a row, and by which named constraint."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, models, transaction


def named_constraints() -> dict[str, tuple[type[models.Model], models.BaseConstraint]]:
    """Every constraint that a model of the records names, with its model."""
    return {
        constraint.name: (model, constraint)
        for model in apps.get_app_config("records").get_models()
        for constraint in model._meta.constraints
    }


@contextmanager
def refused_by(name: str) -> Iterator[None]:
    """The block must break exactly the constraint `name`; the transaction stays usable."""
    model, constraint = named_constraints()[name]
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        yield
    said = str(refusal.value)
    if (
        connection.vendor == "sqlite"
        and isinstance(constraint, models.UniqueConstraint)
        and constraint.fields
    ):
        # SQLite names the columns of a broken unique index, not the index.
        columns = [model._meta.get_field(field).column for field in constraint.fields]
        table = model._meta.db_table
        assert said.endswith("failed: " + ", ".join(f"{table}.{column}" for column in columns))
    else:
        assert name in said

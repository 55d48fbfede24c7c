"""What a person may type of a day, a distance and the fields of a record."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import models

from garage.records.choices import DistanceUnit
from garage.records.errors import RuleBroken
from garage.records.importing.cells import DAYS_AHEAD, EARLIEST_DATE, distance_fault


def distance_check(column: str, typed: Decimal, unit: str) -> None:
    """RuleBroken where this is no distance that an instrument shows."""
    if unit not in DistanceUnit.values:
        raise RuleBroken(
            "a distance is in km or mi",
            got=unit or "no unit",
            do="Name the unit shown.",
            column="unit",
        )
    if not typed.is_finite() or typed < 0:
        raise RuleBroken(
            "a distance is a number, not negative",
            got=typed,
            do="Type the digits shown.",
            column=column,
        )
    too_far = distance_fault(column, typed, unit)
    if too_far is not None:
        raise RuleBroken(too_far.rule, got=too_far.got, do=too_far.do, column=column)


def day_check(column: str, day: date, at: datetime) -> None:
    """RuleBroken where the day lies before all vehicles or ahead of the clock."""
    latest = at.date() + DAYS_AHEAD
    if not EARLIEST_DATE <= day <= latest:
        raise RuleBroken(
            f"a day lies between {EARLIEST_DATE} and {latest}",
            got=day,
            do="Correct the day.",
            column=column,
        )


def fields_broken(row: models.Model, names: Iterable[str]) -> Iterator[RuleBroken]:
    """What the fields of a row that is not yet written would not take."""
    for name in names:
        field = row._meta.get_field(name)
        assert isinstance(field, models.Field)  # no relation backwards; for the type checker
        value = getattr(row, field.attname)
        try:
            field.clean(value, row)
        except ValidationError as refused:
            yield RuleBroken(
                f"{name}: {'; '.join(refused.messages).rstrip('.')}",
                got=value,
                do="Correct it.",
                column=name,
            )

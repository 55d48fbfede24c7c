"""Days read from SQLite are remembered, and are the days that are held."""

from datetime import date

import pytest
from django.db import connection

from garage.records.models import OdometerReading
from garage.records.sqlite_days import day_read
from tests.records.factories import OdometerReadingFactory


@pytest.mark.parametrize("day", [date(1, 1, 1), date(2024, 2, 29), date(9999, 12, 31)])
def test_a_day_is_read_as_it_is_written(day: date) -> None:
    assert day_read(str(day).encode()) == day
    assert day_read(str(day).encode()) is day_read(str(day).encode())


def test_a_text_that_is_no_day_is_refused() -> None:
    with pytest.raises(ValueError, match="day"):
        day_read(b"2023-02-29")


@pytest.mark.django_db
def test_days_of_the_database_are_read_so() -> None:
    OdometerReadingFactory(read_on=date(2024, 2, 29))
    OdometerReadingFactory(read_on=date(2024, 2, 29))
    first, second = OdometerReading.objects.values_list("read_on", flat=True)
    assert first == second == date(2024, 2, 29)
    if connection.vendor == "sqlite":
        assert first is second

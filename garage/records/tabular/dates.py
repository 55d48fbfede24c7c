"""What day a cell may mean, under each order of day, month and year."""

import re
import unicodedata
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import lru_cache

from garage.records.tabular.reading import CellValue
from garage.records.tabular.words import word_file

#: Serial numbers of days that a table of vehicles may hold: 1954 to 2119 (1900 epoch): judgement.
SERIALS = (20_000, 80_000)
#: Years ahead that a two-digit year may mean before it is of the century before: judgement.
YEARS_AHEAD = 10

_EPOCHS = {"epoch_1900": date(1899, 12, 30), "epoch_1904": date(1904, 1, 1)}
_TIME = re.compile(
    r"[T\s,]+\d{1,2}[:.]\d{2}([:.]\d{2}([.,]\d+)?)?\s*([ap]\.?m\.?)?\s*(Z|[+-]\d{2}:?\d{2})?$", re.I
)
_THREE = re.compile(r"(\d{1,4})(\s*[./\-\s]\s*)(\d{1,2})\s*[./\-\s]\s*(\d{1,4})\.?")
_EIGHT = re.compile(r"\d{8}")
_SERIAL = re.compile(r"\d{5}(\.\d+)?")
_NAMED = re.compile(r"[^\W\d_]+")
_YEAR_MONTH = re.compile(r"(\d{4})[-/.](\d{1,2})|(\d{1,2})[-/.](\d{4})")


class DateOrder(StrEnum):
    """How a date of three numbers, or a number of days, is to be read."""

    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"
    YEAR_FIRST = "year_first"
    EPOCH_1900 = "epoch_1900"
    EPOCH_1904 = "epoch_1904"


@dataclass(frozen=True)
class DateReadings:
    """The days a text may mean, by the order that gives them.

    `plain` is set where the text can be read in one way only, whatever other cells say (a typed
    date, a name of the month, the year first with four digits). `fault` is set where there is none.
    `has_rare_year_first`: the year first is among them only because 13/02/24 can be read so; with
    strokes and points it is not meant unless somebody says so.
    """

    plain: date | None = None
    by_order: dict[DateOrder, date] = field(default_factory=dict)
    has_rare_year_first: bool = False
    fault: str | None = None

    @property
    def likely(self) -> dict[DateOrder, date]:
        """The readings without a rare one."""
        if not self.has_rare_year_first:
            return self.by_order
        return {o: day for o, day in self.by_order.items() if o is not DateOrder.YEAR_FIRST}


def date_readings(cell: CellValue, *, century_of: int) -> DateReadings:
    """All readings of a cell; `century_of` is the present year, which two-digit years lie near."""
    if isinstance(cell, datetime):
        return DateReadings(plain=cell.date())
    if isinstance(cell, date):
        return DateReadings(plain=cell)
    if isinstance(cell, float) and cell.is_integer():
        return _of_text(str(int(cell)), century_of)
    if isinstance(cell, float):
        return _of_text(str(cell), century_of)
    if not isinstance(cell, str):
        return DateReadings(fault="a day of the calendar")
    return _of_text(cell.strip(), century_of)


@lru_cache(maxsize=8_192)
def _of_text(text: str, century_of: int) -> DateReadings:
    text = _TIME.sub("", text).strip()
    if _EIGHT.fullmatch(text):
        return _of_digits(text)
    if _SERIAL.fullmatch(text):
        return _of_serial(int(float(text)))
    if _YEAR_MONTH.fullmatch(text):
        return DateReadings(fault="a day of the calendar; a month alone does not say which day")
    three = _THREE.fullmatch(text)
    if three:
        return _of_numbers([three[1], three[3], three[4]], three[2].strip() or " ", century_of)
    return _of_month_name(text, century_of)


def _of_numbers(parts: list[str], sign: str, century_of: int) -> DateReadings:
    first, middle, last = parts
    if len(first) >= 3:
        day = _day(_year(first, century_of), int(middle), int(last)) if len(last) < 3 else None
        return DateReadings(plain=day, fault=None if day else "a day of the calendar")
    year = _year(last, century_of)
    readings = {
        DateOrder.DAY_FIRST: _day(year, int(middle), int(first)),
        DateOrder.MONTH_FIRST: _day(year, int(first), int(middle)),
    }
    has_short_year = len(last) <= 2 and len(first) == 2
    if has_short_year:
        readings[DateOrder.YEAR_FIRST] = _day(_year(first, century_of), int(middle), int(last))
    found = {order: day for order, day in readings.items() if day is not None}
    if has_short_year and sign not in "/.":
        found = {order: day for order, day in found.items() if day.year <= century_of} or found
    return DateReadings(
        by_order=found,
        has_rare_year_first=has_short_year and sign in "/." and len(found) > 1,
        fault=None if found else "a day of the calendar",
    )


def _of_digits(text: str) -> DateReadings:
    """Eight digits without a sign between; a year is from 1900 on."""
    splits = {
        DateOrder.YEAR_FIRST: (text[:4], text[4:6], text[6:]),
        DateOrder.DAY_FIRST: (text[4:], text[2:4], text[:2]),
        DateOrder.MONTH_FIRST: (text[4:], text[:2], text[2:4]),
    }
    read = {order: _day(*map(int, parts)) for order, parts in splits.items()}
    found = {order: day for order, day in read.items() if day is not None}
    if set(found) == {DateOrder.YEAR_FIRST}:
        return DateReadings(plain=found[DateOrder.YEAR_FIRST])
    return DateReadings(by_order=found, fault=None if found else "a day of the calendar")


def _of_serial(days: int) -> DateReadings:
    low, high = SERIALS
    if not low <= days <= high:
        return DateReadings(fault="a day of the calendar, or its serial number")
    found = {DateOrder(name): start + timedelta(days=days) for name, start in _EPOCHS.items()}
    return DateReadings(by_order=found)


def _of_month_name(text: str, century_of: int) -> DateReadings:
    words = [_bare(word) for word in _NAMED.findall(text)]
    months = {_months()[word] for word in words if word in _months()}
    numbers = re.findall(r"\d+", text)
    if len(months) != 1 or len(numbers) != 2:
        return DateReadings(fault="a day of the calendar")
    (month,) = months
    first, last = numbers
    if len(first) == 4:
        day = _day(int(first), month, int(last))
    else:
        day = _day(_year(last, century_of), month, int(first)) if len(last) in (2, 4) else None
    return DateReadings(plain=day, fault=None if day else "a day of the calendar")


def _months() -> dict[str, int]:
    if not _MONTHS:
        for number, names in word_file("value_words.toml")["months"].items():
            _MONTHS.update({_bare(name): int(number) for name in names})
    return _MONTHS


_MONTHS: dict[str, int] = {}


def _bare(word: str) -> str:
    parts = unicodedata.normalize("NFKD", word.casefold())
    return "".join(sign for sign in parts if not unicodedata.combining(sign))


def _year(text: str, century_of: int) -> int:
    if len(text) != 2:
        return int(text)
    year = century_of - century_of % 100 + int(text)
    return year - 100 if year > century_of + YEARS_AHEAD else year


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day) if 1900 <= year < 2100 else None
    except ValueError:
        return None

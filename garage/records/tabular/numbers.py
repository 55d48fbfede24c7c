"""What number a cell may mean, under each decimal sign, with the unit or currency beside it."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache, lru_cache

from garage.records.tabular.reading import CellValue
from garage.records.tabular.words import word_file

_NUMBER = re.compile(r"[+\-−]?\s*\d[\d.,'’\s\u00a0\u202f_]*|[+\-−]?[.,]\d+")
_BLANKS = re.compile(r"[\s\u00a0\u202f_]")
#: Groups of three, or of two before the last three as on the Indian subcontinent.
_POINT = re.compile(r"(\d+|\d{1,3}([,'’ ])\d{3}(\2\d{3})*|\d{1,2}(,\d{2})+,\d{3})?(\.\d*)?")
_COMMA = re.compile(r"(\d+|\d{1,3}([.'’ ])\d{3}(\2\d{3})*)?(,\d*)?")


class DecimalSign(StrEnum):
    """Which sign parts the whole from the fraction; the other one parts thousands."""

    POINT = "point"
    COMMA = "comma"


@dataclass(frozen=True)
class NumberReadings:
    """The numbers a text may mean; `units` and `currencies` are those named beside it.

    Both numbers are None, and `fault` says why, where there is none.
    """

    point: Decimal | None = None
    comma: Decimal | None = None
    units: tuple[str, ...] = ()
    currencies: tuple[str, ...] = ()
    fault: str | None = None

    def by(self, sign: DecimalSign) -> Decimal | None:
        return self.point if sign is DecimalSign.POINT else self.comma

    @property
    def proves(self) -> DecimalSign | None:
        """The sign under which alone this can be read."""
        if self.point is not None and self.comma is None:
            return DecimalSign.POINT
        if self.comma is not None and self.point is None:
            return DecimalSign.COMMA
        return None

    @property
    def is_ambiguous(self) -> bool:
        return self.point is not None and self.comma is not None and self.point != self.comma


def number_readings(cell: CellValue) -> NumberReadings:
    """All readings of a cell; a typed number has one."""
    if isinstance(cell, bool):
        return NumberReadings(fault="a number")
    if isinstance(cell, int | float):
        value = Decimal(repr(cell))
        if not value.is_finite():
            return NumberReadings(fault="a number")
        return NumberReadings(value, value)
    if not isinstance(cell, str):
        return NumberReadings(fault="a number")
    return _of_text(cell)


@lru_cache(maxsize=8_192)
def _of_text(text: str) -> NumberReadings:
    text = text.strip()
    is_negative = text.startswith("(") and text.endswith(")")
    if is_negative:
        text = text[1:-1].strip()
    found = _NUMBER.search(text)
    if found is None:
        return NumberReadings(fault="a number")
    digits = found[0].strip().rstrip(".,'") if found.end() < len(text) else found[0].strip()
    beside = f"{text[: found.start()]} {text[found.end() :]}".strip()
    if beside == "-":  # the sign behind, as accounts print it
        is_negative, beside = True, ""
    units, currencies, unknown = _beside(beside)
    if unknown:
        return NumberReadings(fault=f"a number with its unit; {unknown!r} is no unit known here")
    if digits[0] in "+-−":
        is_negative = is_negative or digits[0] != "+"
        digits = digits[1:].strip()
    digits = _BLANKS.sub(" ", digits)
    point, comma = _read(digits, _POINT, "."), _read(digits, _COMMA, ",")
    if point is None and comma is None:
        return NumberReadings(fault="a number; its signs for thousands and decimals do not fit")
    if is_negative:
        point = None if point is None else -point
        comma = None if comma is None else -comma
    return NumberReadings(point, comma, units, currencies)


def _read(digits: str, pattern: re.Pattern[str], sign: str) -> Decimal | None:
    if pattern.fullmatch(digits) is None:
        return None
    whole, _, fraction = digits.rpartition(sign) if sign in digits else (digits, "", "")
    plain = "".join(each for each in whole if each.isdigit())
    # A group of thousands never begins a number with 0: 0,512 is no 512.
    if len(plain) > 1 and plain[0] == "0" and plain != whole:
        return None
    text = f"{plain or '0'}.{fraction or '0'}"
    return Decimal(text) if fraction else Decimal(plain or "0")


def _beside(text: str) -> tuple[tuple[str, ...], tuple[str, ...], str]:
    units: tuple[str, ...] = ()
    currencies: tuple[str, ...] = ()
    for word in re.findall(r"[^\W\d_]+\.?|[^\w\s]+", text):
        key = word.casefold().rstrip(".") or word
        if key in unit_words():
            units = (*units, unit_words()[key])
        elif key in currency_words():
            currencies = currencies or currency_words()[key]
        elif key not in (",", ".", "(", ")", "-", "/", ":"):
            return (), (), word
    return units, currencies, ""


@cache
def unit_words() -> dict[str, str]:
    """How `km` and `mi` are written elsewhere."""
    words: dict[str, list[str]] = word_file("value_words.toml")["units"]
    return {name.casefold(): unit for unit, names in words.items() for name in names}


@cache
def currency_words() -> dict[str, tuple[str, ...]]:
    """Signs and codes of currencies, with the codes each may mean."""
    words: dict[str, list[str]] = word_file("value_words.toml")["currencies"]
    known = {sign.casefold(): tuple(codes) for sign, codes in words.items()}
    return known | {code.casefold(): (code,) for codes in words.values() for code in codes}

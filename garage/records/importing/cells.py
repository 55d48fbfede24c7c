"""One cell: from its text to a value of its column's form, or the rule it breaks."""

import contextlib
import re
import unicodedata
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from garage.records.choices import System
from garage.records.distance import to_km
from garage.records.errors import RuleBroken
from garage.records.importing.columns import Column, Form
from garage.records.importing.faults import Fault, shown
from garage.records.importing.formulas import apostrophe_taken_off
from garage.records.vin import vin_check

CellReader = Callable[[str], Any]

#: No vehicle of a workshop's records is older, and a slipped year is likelier: judgement.
EARLIEST_DATE = date(1900, 1, 1)
#: The records may come from a place whose day has begun already.
DAYS_AHEAD = timedelta(days=1)
#: Beyond what any road vehicle has covered; a larger number is a typing slip: judgement.
MAX_ODOMETER_KM = 10_000_000

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_PLAIN = re.compile(r"\d{1,10}(\.\d{1,2})?", re.ASCII)
_SIGNED = re.compile(r"-?\d{1,10}(\.\d{1,2})?", re.ASCII)
_ORDINAL = re.compile(r"[1-9]\d?", re.ASCII)
_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)
#: Control characters but tab and line ends: a database may not hold them, no keyboard types them.
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
NONE = "none"


def cell_reader(column: Column, *, as_of: date) -> CellReader:
    """A function from a cell's text, blanks at its ends stripped and not empty, to its value."""
    form = column.form
    if form is Form.CHOICE:
        return _choice_reader(column)
    if form is Form.DATE:
        return _date_reader(as_of + DAYS_AHEAD)
    if form in _PLAIN_READERS:
        return _PLAIN_READERS[form]
    return _text_reader(column)


def cell_text(text: str) -> str:
    """The text of a cell in one spelling: composed characters, no blanks at its ends."""
    text = text.strip()
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def distance_fault(column: str, typed: Decimal, unit: str) -> Fault | None:
    """The fault of a distance that no road vehicle covers, in either unit."""
    if to_km(typed, unit) <= MAX_ODOMETER_KM:
        return None
    return Fault(
        f"a distance is at most {MAX_ODOMETER_KM} km",
        f"{typed} {unit}",
        "Take out the digit too many, or correct the unit.",
        column,
    )


def mark_key(mark: str) -> str:
    """What a search for a registration mark compares: upper-case letters and digits only."""
    return "".join(sign for sign in mark.upper() if sign.isalnum())


def _text_reader(column: Column) -> CellReader:
    limit = column.max_length
    after = _AFTER_TEXT.get(column.form)

    def read(text: str) -> str:
        text = apostrophe_taken_off(text)
        if limit is not None and len(text) > limit:
            raise RuleBroken(
                f"{column.name} has at most {limit} characters",
                got=shown(text),
                do="Shorten it.",
            )
        if CONTROL.search(text):
            raise RuleBroken(
                f"{column.name} has no control characters",
                got=shown(text),
                do="Remove what is shown as �; the file may be damaged.",
            )
        return text if after is None else after(text)

    return read


def _choice_reader(column: Column) -> CellReader:
    values = {value: value for value in column.values}
    rule = f"{column.name} must be one of {', '.join(column.values)}"

    def read(text: str) -> str:
        try:
            return values[text]
        except KeyError:
            raise RuleBroken(
                rule, got=shown(text), do="Use one of these codes, or leave it empty if not known."
            ) from None

    return read


def _date_reader(latest: date) -> CellReader:
    known: dict[str, date] = {}

    def read(text: str) -> date:
        day = known.get(text)
        if day is None:
            day = _date(text, latest)
            # Eight years of days fit; a file of ever new dates cannot fill the memory.
            if len(known) < 4_096:
                known[text] = day
        return day

    return read


def _date(text: str, latest: date) -> date:
    day = None
    if _ISO_DATE.fullmatch(text):
        with contextlib.suppress(ValueError):
            day = date.fromisoformat(text)
    if day is None:
        raise RuleBroken(
            "dates are written YYYY-MM-DD (ISO 8601) and are in the calendar",
            got=shown(text),
            do="Write for example 2024-03-01; a time of day is left out.",
        )
    if day > latest:
        raise RuleBroken(
            f"no record lies in the future (latest day accepted: {latest})",
            got=text,
            do="Correct the date, or import once the day has come.",
        )
    if day < EARLIEST_DATE:
        raise RuleBroken(
            f"no record is older than {EARLIEST_DATE}", got=text, do="Correct the year."
        )
    return day


def _yes_no(text: str) -> bool:
    if text == "yes":
        return True
    if text == "no":
        return False
    raise RuleBroken("yes or no", got=shown(text), do="Leave it empty if not known.")


def _number_reader(pattern: re.Pattern[str], rule: str) -> CellReader:
    def read(text: str) -> Decimal:
        if pattern.fullmatch(text) is None:
            raise RuleBroken(
                rule,
                got=shown(text),
                do="Write for example 123456 or 123456.5, without a sign for thousands and "
                "without a unit.",
            )
        return Decimal(text)

    return read


def _currency(text: str) -> str:
    if _CURRENCY.fullmatch(text) is None:
        raise RuleBroken(
            "a currency is three capital letters (ISO 4217)",
            got=shown(text),
            do="Write for example EUR.",
        )
    return text


def _ordinal(text: str) -> int:
    if _ORDINAL.fullmatch(text) is None:
        raise RuleBroken(
            "a place among equals is a whole number from 1 to 99",
            got=shown(text),
            do="Write 2 for the second, or leave it empty if there is one.",
        )
    return int(text)


def _systems(text: str) -> list[str]:
    codes = text.split()
    if codes == [NONE]:
        return []
    unknown = sorted(set(codes) - set(System.values))
    if unknown:
        raise RuleBroken(
            f"system codes separated by blanks, or {NONE} alone; the codes are "
            + ", ".join(System.values),
            got=shown(text),
            do=f"Correct {shown(' '.join(unknown))}.",
        )
    return sorted(set(codes))


def _trouble_codes(text: str) -> str:
    return " ".join(text.upper().split())


def _mark(text: str) -> str:
    mark = " ".join(text.split())
    if not 0 < len(mark_key(mark)) <= 20:
        raise RuleBroken(
            "a registration has 1 to 20 letters and digits",
            got=shown(text),
            do="Leave it empty if the vehicle bears no mark.",
        )
    return mark


def _position(text: str) -> str:
    return " ".join(text.casefold().split())


_AFTER_TEXT: dict[Form, Callable[[str], str]] = {
    Form.TROUBLE_CODES: _trouble_codes,
    Form.MARK: _mark,
    Form.POSITION: _position,
}

_PLAIN_READERS: dict[Form, CellReader] = {
    Form.YES_NO: _yes_no,
    Form.DISTANCE: _number_reader(
        _PLAIN,
        "a distance is not negative and is written in plain digits, with a decimal point and at "
        "most two decimals",
    ),
    Form.SIGNED_DISTANCE: _number_reader(
        _SIGNED,
        "an offset is written in plain digits, with a decimal point and at most two decimals",
    ),
    Form.AMOUNT: _number_reader(
        _PLAIN,
        "an amount is not negative and is written in plain digits, with a decimal point and at "
        "most two decimals",
    ),
    Form.CURRENCY: _currency,
    Form.ORDINAL: _ordinal,
    Form.SYSTEMS: _systems,
    Form.VIN: vin_check,
}

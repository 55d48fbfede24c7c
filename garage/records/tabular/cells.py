"""One cell of another table: its value in our form, the readings it waits between, or its fault."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from functools import cache

from garage.records.errors import RuleBroken
from garage.records.importing.cells import cell_reader, cell_text
from garage.records.importing.columns import Column, Form
from garage.records.importing.faults import shown
from garage.records.tabular.dates import DateOrder, date_readings
from garage.records.tabular.evidence import is_empty_word
from garage.records.tabular.numbers import (
    DecimalSign,
    NumberReadings,
    currency_words,
    number_readings,
    unit_words,
)
from garage.records.tabular.reading import CellValue, text_of
from garage.records.tabular.settle import Setting, Settled
from garage.records.tabular.words import plain, word_file

_CENT = Decimal("0.01")
NUMBER_FORMS = frozenset({Form.DISTANCE, Form.SIGNED_DISTANCE, Form.AMOUNT})


class State(StrEnum):
    """What became of a cell."""

    VALUE = "value"
    EMPTY = "empty"
    WAITS = "waits"
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as it would land. `value` is text in our import form, set with `State.VALUE` alone.

    `readings` are the values it waits between; `words` says why it waits, what is at fault, or what
    was done to it. `units` and `currencies` are those that stand in the cell.
    """

    state: State
    raw: str = ""
    value: str = ""
    readings: tuple[str, ...] = ()
    words: str = ""
    units: tuple[str, ...] = ()
    currencies: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reader:
    """Reads cells into one of our columns; `as_of` is today, for faults and two-digit years."""

    column: Column
    as_of: date

    def read(self, cell: CellValue, settled: Settled) -> Cell:
        """The cell under what its column has settled."""
        raw = text_of(cell)
        if not raw or is_empty_word(raw):
            return Cell(State.EMPTY, raw)
        form = self.column.form
        if form is Form.DATE:
            return self._date(cell, raw, settled)
        if form in NUMBER_FORMS:
            return self._number(cell, raw, settled)
        if form is Form.YES_NO:
            return self._yes_no(raw)
        if form is Form.CURRENCY:
            return self._currency(raw)
        return self.checked(raw, self._own_spelling(raw))

    def checked(self, raw: str, value: str, words: str = "") -> Cell:
        """The value, if the import would take it; else the import's own fault."""
        text = cell_text(value)
        try:
            _own_reader(self.column, self.as_of)(text)
        except RuleBroken as broken:
            return Cell(State.FAULT, raw, words=f"{broken.rule}; got {shown(raw)}. {broken.do}")
        return Cell(State.VALUE, raw, text, words=words)

    def _own_spelling(self, raw: str) -> str:
        """Our code in another spelling (`Clear codes`), a number or mark as it stands."""
        if self.column.name == "unit":
            return unit_words().get(raw.casefold().rstrip("."), raw)
        if self.column.form is Form.CHOICE:
            wanted = plain(raw)
            return next((code for code in self.column.values if plain(code) == wanted), raw)
        if self.column.form is Form.VIN:
            return raw.replace("-", "").replace(" ", "")
        return raw

    def _yes_no(self, raw: str) -> Cell:
        for answer, words in word_file("value_words.toml")["yes_no"].items():
            if raw.casefold() in words:
                return Cell(State.VALUE, raw, answer)
        return Cell(
            State.FAULT, raw, words=f"yes or no; got {shown(raw)}. Say which of them it means."
        )

    def _currency(self, raw: str) -> Cell:
        codes = currency_words().get(raw.casefold(), (raw.upper(),))
        if len(codes) > 1:
            words = "several currencies share this sign"
            return Cell(State.WAITS, raw, readings=codes, words=words)
        return self.checked(raw, codes[0])

    def _date(self, cell: CellValue, raw: str, settled: Settled) -> Cell:
        days = date_readings(cell, century_of=self.as_of.year)
        if days.plain is not None:
            return self.checked(raw, days.plain.isoformat())
        if days.fault is not None:
            return Cell(
                State.FAULT, raw, words=f"{days.fault}; got {shown(raw)}. Correct the date."
            )
        by_order = days.by_order
        is_serial = DateOrder.EPOCH_1900 in by_order
        setting = Setting.SERIAL_EPOCH if is_serial else Setting.DATE_ORDER
        order = settled.get(setting)
        if order is not None and DateOrder(order) in by_order:
            return self.checked(raw, by_order[DateOrder(order)].isoformat())
        possible = {o: day for o, day in days.likely.items() if is_serial or o in settled.orders}
        distinct = sorted(set((possible or by_order).values()))
        if len(distinct) == 1:
            return self.checked(raw, distinct[0].isoformat())
        readings = tuple(day.isoformat() for day in distinct)
        return Cell(State.WAITS, raw, readings=readings, words=settled.why.get(setting, ""))

    def _number(self, cell: CellValue, raw: str, settled: Settled) -> Cell:
        number = number_readings(cell)
        if number.fault is not None:
            words = f"{number.fault}; got {shown(raw)}. Correct the number."
            return Cell(State.FAULT, raw, words=words)
        foreign = number.units if self.column.form is Form.AMOUNT else number.currencies
        if foreign:
            what = "an amount" if self.column.form is Form.AMOUNT else "a distance"
            words = f"{what} has no {' or '.join(foreign)} beside it; got {shown(raw)}. Correct it."
            return Cell(State.FAULT, raw, words=words)
        sign = settled.get(Setting.DECIMAL_SIGN)
        value = None if sign is None else number.by(DecimalSign(sign))
        if value is None and not number.is_ambiguous:
            value = number.point if number.point is not None else number.comma
        if value is None:
            readings = tuple(
                _digits(each)[0] for each in (number.point, number.comma) if each is not None
            )
            words = settled.why.get(Setting.DECIMAL_SIGN, "")
            return _beside(Cell(State.WAITS, raw, readings=readings, words=words), number)
        return _beside(self.checked(raw, *_digits(value)), number)


def _digits(value: Decimal) -> tuple[str, str]:
    """Plain digits with at most two decimals, and a word if that took some away."""
    exact = value.normalize()
    if -int(exact.as_tuple().exponent) <= 2:
        return f"{exact:f}", ""
    rounded = value.quantize(_CENT, rounding=ROUND_HALF_EVEN).normalize()
    return f"{rounded:f}", f"rounded from {exact:f} to two decimals"


def _beside(cell: Cell, number: NumberReadings) -> Cell:
    return Cell(
        cell.state, cell.raw, cell.value, cell.readings, cell.words, number.units, number.currencies
    )


@cache
def _own_reader(column: Column, as_of: date) -> Callable[[str], object]:
    return cell_reader(column, as_of=as_of)

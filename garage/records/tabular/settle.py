"""How the ambiguous cells of a column are to be read: by a rule, by proof, or not yet."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from garage.records.tabular.dates import DateOrder
from garage.records.tabular.evidence import ColumnEvidence
from garage.records.tabular.numbers import DecimalSign, currency_words, unit_words

_DAY, _MONTH, _YEAR = DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST, DateOrder.YEAR_FIRST
_DAY_FIRST_PATTERN = re.compile(r"\b(dd?|tt?|jj?)[./\- ]?mm?[./\- ]?(yy|jj|aa)", re.I)
_MONTH_FIRST_PATTERN = re.compile(r"\bmm?[./\- ]?dd?[./\- ]?yy", re.I)
_YEAR_FIRST_PATTERN = re.compile(r"\b(yyyy|yy|jjjj|aaaa)[./\- ]?mm?[./\- ]?(dd?|tt?|jj?)\b", re.I)
_WORD = re.compile(r"[^\W\d_]+|[€£$¥₹₽₺]|[A-Za-z]*[$]")


class Setting(StrEnum):
    """What a column leaves open."""

    DATE_ORDER = "date_order"
    SERIAL_EPOCH = "serial_epoch"
    DECIMAL_SIGN = "decimal_sign"
    UNIT = "unit"
    CURRENCY = "currency"


_ORDERS = frozenset({_DAY, _MONTH, _YEAR})
_EPOCHS = (DateOrder.EPOCH_1900, DateOrder.EPOCH_1904)
#: What a rule may say for each; a currency is any code of three capital letters.
SETTING_VALUES: dict[Setting, tuple[str, ...]] = {
    Setting.DATE_ORDER: (_DAY, _MONTH, _YEAR),
    Setting.SERIAL_EPOCH: _EPOCHS,
    Setting.DECIMAL_SIGN: tuple(DecimalSign),
    Setting.UNIT: ("km", "mi"),
    Setting.CURRENCY: (),
}


_Found = tuple[dict[Setting, str], dict[Setting, str]]


@dataclass(frozen=True)
class Rule:
    """A person's word on how to read the ambiguous cells of a column.

    With `when_source` it holds only for rows whose cell there equals `when_equals` (capitals and
    blanks at the ends do not matter): one source of rows within a file of several.
    """

    source: str
    setting: Setting
    value: str
    when_source: str | None = None
    when_equals: str | None = None


@dataclass(frozen=True)
class Settled:
    """How one column is read; a setting without an entry in `values` leaves cells waiting.

    `why` says for each setting what settled it, or why nothing does. `orders` are the orders that
    remain possible for dates.
    """

    values: Mapping[Setting, str] = field(default_factory=dict)
    why: Mapping[Setting, str] = field(default_factory=dict)
    orders: frozenset[DateOrder] = _ORDERS

    def get(self, setting: Setting) -> str | None:
        return self.values.get(setting)


def column_settle(evidence: ColumnEvidence, rules: Iterable[Rule] = ()) -> Settled:
    """What the whole column proves, overruled by rules without a condition."""
    values: dict[Setting, str] = {}
    why: dict[Setting, str] = {}
    orders = _settle_order(evidence, (values, why))
    signs = Counter({DecimalSign.POINT: evidence.points, DecimalSign.COMMA: evidence.commas})
    _decide(Setting.DECIMAL_SIGN, None, signs, (values, why))
    _decide(Setting.UNIT, unit_in_header(evidence.header), evidence.units, (values, why))
    known = Counter({each[0]: n for each, n in evidence.currencies.items() if len(each) == 1})
    vague = sum(n for each, n in evidence.currencies.items() if len(each) > 1)
    if not vague:
        _decide(Setting.CURRENCY, _currency_in_header(evidence.header), known, (values, why))
    else:
        why[Setting.CURRENCY] = f"{vague} cells bear a sign that several currencies share"
    why[Setting.SERIAL_EPOCH] = "nothing in a text proves where serial numbers of days begin"
    for rule in rules:
        if rule.when_source is None:
            values[rule.setting] = rule.value
            why[rule.setting] = "a person said so"
    return Settled(values, why, orders)


def settled_for_row(settled: Settled, rules: Iterable[tuple[Rule, str]]) -> Settled:
    """The same with the rules that hold for this row alone; each comes with the row's cell."""
    values = dict(settled.values)
    for rule, cell in rules:
        if cell.strip().casefold() == (rule.when_equals or "").strip().casefold():
            values[rule.setting] = rule.value
    return Settled(values, settled.why, settled.orders)


def unit_in_header(header: str) -> str | None:
    """`km` or `mi` if the name of the column says one of them."""
    units = {
        unit_words()[word]
        for word in map(str.casefold, _WORD.findall(header))
        if word in unit_words()
    }
    return units.pop() if len(units) == 1 else None


def _currency_in_header(header: str) -> str | None:
    words = [
        currency_words().get(word.casefold(), ())
        for word in _WORD.findall(header)
        if len(word) != 1 or not word.isalpha()
    ]
    codes = {codes[0] for codes in words if len(codes) == 1}
    return codes.pop() if len(codes) == 1 else None


def _order_in_header(header: str) -> DateOrder | None:
    for order, pattern in (
        (_YEAR, _YEAR_FIRST_PATTERN),
        (_DAY, _DAY_FIRST_PATTERN),
        (_MONTH, _MONTH_FIRST_PATTERN),
    ):
        if pattern.search(header):
            return order
    return None


def _settle_order(evidence: ColumnEvidence, into: _Found) -> frozenset[DateOrder]:
    """The order that every cell of the column can have, if there is one alone.

    A cell refutes the orders it cannot have. Returned are the orders still possible.
    """
    values, why = into
    classes = {
        orders: count
        for orders, count in evidence.orders.items()
        if DateOrder.EPOCH_1900 not in orders
    }
    single = {next(iter(orders)): n for orders, n in classes.items() if len(orders) == 1}
    told = ", ".join(f"{_said(order)} alone in {count} cells" for order, count in single.items())
    stated = _order_in_header(evidence.header)
    if stated is not None and not set(single) - {stated}:
        values[Setting.DATE_ORDER] = stated
        why[Setting.DATE_ORDER] = "the name of the column says so"
        return frozenset({stated})
    if not classes:
        return _ORDERS
    left = _ORDERS.intersection(*classes)
    if len(left) == 1:
        (order,) = left
        values[Setting.DATE_ORDER] = order
        why[Setting.DATE_ORDER] = f"proven: {_said(order)} is the one order that all cells can have"
    elif left:
        why[Setting.DATE_ORDER] = "no cell of the column proves an order"
    else:
        why[Setting.DATE_ORDER] = f"the column proves more than one order: {told}"
    return left or frozenset().union(*classes)


def _said(name: str) -> str:
    return name.replace("_", " ")


def _decide(
    setting: Setting,
    stated: str | None,
    proofs: "Counter[DecimalSign] | Counter[str]",
    into: _Found,
) -> None:
    values, why = into
    found = {str(each): count for each, count in proofs.items() if count}
    told = ", ".join(f"{_said(name)} in {count} cells" for name, count in found.items())
    if stated is not None and set(found) - {stated}:
        why[setting] = f"the name of the column says {_said(stated)}; proven is {told}"
    elif stated is not None:
        values[setting] = stated
        why[setting] = "the name of the column says so"
    elif len(found) == 1:
        values[setting] = next(iter(found))
        why[setting] = f"proven: {told}, nothing else in any"
    elif found:
        why[setting] = f"the column proves more than one: {told}"
    else:
        why[setting] = "no cell of the column proves any"

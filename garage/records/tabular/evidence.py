"""What the cells of each column prove, counted over all rows of a sheet."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import islice

from garage.records.importing.cells import mark_key
from garage.records.tabular.dates import DateOrder, date_readings
from garage.records.tabular.layout import Layout, rows_sorted
from garage.records.tabular.numbers import DecimalSign, number_readings
from garage.records.tabular.reading import CellValue, Row, Sheet, text_of
from garage.records.tabular.words import word_file
from garage.records.vin import CHARACTERS, LENGTH

#: Rows counted together: equal cells of a chunk are looked at once.
CHUNK_ROWS = 20_000
#: Different texts kept per column; a column with more is no column of codes: judgement.
MAX_DISTINCT = 2_000
#: First rows kept for looking at columns side by side.
SAMPLE_ROWS = 3_000
#: Longer texts are neither dates nor numbers.
MAX_VALUE_CHARACTERS = 40

_DIGIT = re.compile(r"\d")
_MARK = re.compile(r"(?=.*\d)(?=.*[A-Z])[A-Z0-9]{4,9}")


@dataclass
class ColumnEvidence:
    """Counts over one column; every count is of filled cells, `orders` by the readings possible."""

    header: str
    filled: int = 0
    typed_dates: int = 0
    plain_dates: int = 0
    orders: Counter[frozenset[DateOrder]] = field(default_factory=Counter)
    numbers: int = 0
    points: int = 0
    commas: int = 0
    ambiguous_numbers: int = 0
    units: Counter[str] = field(default_factory=Counter)
    currencies: Counter[tuple[str, ...]] = field(default_factory=Counter)
    vins: int = 0
    marks: int = 0
    texts: Counter[str] = field(default_factory=Counter)
    has_more_texts: bool = False

    @property
    def dates(self) -> int:
        """Cells that can be read as a day, serial numbers left out: most numbers could be one."""
        serial = sum(n for orders, n in self.orders.items() if DateOrder.EPOCH_1900 in orders)
        return self.typed_dates + self.plain_dates + self.orders.total() - serial

    def share(self, count: int) -> float:
        return count / self.filled if self.filled else 0.0


@dataclass(frozen=True)
class Evidence:
    """All columns in the order of the layout, the rows counted, and the first of them."""

    columns: tuple[ColumnEvidence, ...]
    row_count: int
    sample: tuple[Row, ...]

    def column(self, header: str) -> ColumnEvidence | None:
        return next((column for column in self.columns if column.header == header), None)


def evidence_gather(sheet: Sheet, layout: Layout, *, as_of: date) -> Evidence:
    """Count what the cells prove. Reads the sheet once, `CHUNK_ROWS` rows at a time."""
    columns = tuple(ColumnEvidence(header) for header in layout.headers)
    rows = (each for each in rows_sorted(sheet, layout) if isinstance(each, Row))
    sample: list[Row] = []
    count = 0
    for chunk in _chunks(rows):
        sample += chunk[: SAMPLE_ROWS - len(sample)] if len(sample) < SAMPLE_ROWS else []
        count += len(chunk)
        for column, cells in zip(
            columns, zip(*(row.cells for row in chunk), strict=True), strict=True
        ):
            # 1 and True count together here; no column of a real table holds both.
            for cell, times in Counter(cells).items():
                _count(column, cell, times, as_of.year)
    return Evidence(columns, count, tuple(sample))


def is_empty_word(text: str) -> bool:
    """Whether a text says that nothing is known."""
    return text.casefold() in _EMPTY_WORDS


_EMPTY_WORDS = frozenset(word_file("value_words.toml")["empty"]["names"])


def _chunks(rows: Iterator[Row]) -> Iterator[list[Row]]:
    while chunk := list(islice(rows, CHUNK_ROWS)):
        yield chunk


def _count(column: ColumnEvidence, cell: CellValue, times: int, year: int) -> None:
    text = text_of(cell)
    if not text or is_empty_word(text):
        return
    column.filled += times
    if len(column.texts) < MAX_DISTINCT or text in column.texts:
        column.texts[text] += times
    else:
        column.has_more_texts = True
    if isinstance(cell, date):
        column.typed_dates += times
        return
    if len(text) > MAX_VALUE_CHARACTERS or not _DIGIT.search(text):
        return
    bare = mark_key(text)
    column.vins += times * (len(bare) == LENGTH and CHARACTERS.fullmatch(bare) is not None)
    column.marks += times * (_MARK.fullmatch(bare) is not None)
    _count_date(column, cell, times, year)
    _count_number(column, cell, times)


def _count_date(column: ColumnEvidence, cell: CellValue, times: int, year: int) -> None:
    days = date_readings(cell, century_of=year)
    if days.plain is not None:
        column.plain_dates += times
    elif days.by_order:
        column.orders[frozenset(days.likely)] += times


def _count_number(column: ColumnEvidence, cell: CellValue, times: int) -> None:
    number = number_readings(cell)
    if number.fault is not None:
        return
    column.numbers += times
    column.points += times * (number.proves is DecimalSign.POINT)
    column.commas += times * (number.proves is DecimalSign.COMMA)
    column.ambiguous_numbers += times * number.is_ambiguous
    for unit in set(number.units):
        column.units[unit] += times
    if number.currencies:
        column.currencies[number.currencies] += times

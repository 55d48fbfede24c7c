"""How a text file separates and quotes its cells, found by trying every way."""

import csv
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

DELIMITERS = (",", ";", "\t", "|")
#: Records whose width is compared; one odd title or note among them does not decide: judgement.
SAMPLE_RECORDS = 300

DELIMITER_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}


@dataclass(frozen=True)
class Dialect:
    """The delimiter, the quotation mark ("" for none), and whether a backslash escapes as well."""

    delimiter: str = ","
    quote: str = '"'
    has_backslash: bool = False

    def __str__(self) -> str:
        quoted = f"quoted by {self.quote}" if self.quote else "not quoted"
        escaped = ", with backslash escapes" if self.has_backslash else ""
        return (
            f"separated by {DELIMITER_WORDS.get(self.delimiter, self.delimiter)}, {quoted}{escaped}"
        )


@dataclass(frozen=True, order=True)
class _Score:
    agreeing: float
    clean_ends: int
    width: int


def dialect_find(lines: list[str]) -> Dialect:
    """The dialect in which most records have the same width of two cells or more.

    A file of one column has no delimiter in it; it is read with commas. Ties go to the wider
    table, then to the plainer dialect.
    """
    best, best_score = Dialect(), _Score(0, 0, 0)
    has_single, has_double = (any(mark in line for line in lines) for mark in ("'", '"'))
    # The plainest first: of equal scores the first stays.
    quotes = ['"', *(["'"] if has_single else []), *([""] if has_double else [])]
    has_backslash = any("\\" in line for line in lines)
    for delimiter, quote, backslash in product(
        DELIMITERS, quotes, (False, True) if has_backslash else (False,)
    ):
        if not any(delimiter in line for line in lines):
            continue
        dialect = Dialect(delimiter, quote, backslash)
        score = _score(lines, dialect)
        if score > best_score:
            best, best_score = dialect, score
    return best


def records(lines: Iterable[str], dialect: Dialect) -> Iterator[tuple[int, list[str]]]:
    """Each record with the number of the line it begins on; csv.Error passes."""
    reader = csv.reader(
        lines,
        delimiter=dialect.delimiter,
        quotechar=dialect.quote or None,
        quoting=csv.QUOTE_MINIMAL if dialect.quote else csv.QUOTE_NONE,
        escapechar="\\" if dialect.has_backslash else None,
        doublequote=True,
    )
    line = 1
    for cells in reader:
        yield line, cells
        line = reader.line_num + 1


def _score(lines: list[str], dialect: Dialect) -> _Score:
    widths: Counter[int] = Counter()
    stray = 0
    try:
        for _, cells in records(lines, dialect):
            if any(cells):
                widths[len(cells)] += 1
                stray += sum(1 for cell in cells if _is_stray(cell, dialect.quote))
    except csv.Error:
        return _Score(0, 0, 0)
    shared = {width: count for width, count in widths.items() if width > 1}
    if not shared:
        return _Score(0, 0, 0)
    width = max(shared, key=lambda each: (shared[each], each))
    return _Score(round(shared[width] / widths.total(), 3), -stray, width)


def _is_stray(cell: str, quote: str) -> bool:
    """A quotation mark at one end, or a line end in the cell, tells of quoting misread."""
    other = {'"': "'", "'": '"', "": '"'}[quote]
    ends = (cell.strip()[:1], cell.strip()[-1:])
    if len(cell) > 1 and ends == (other, other):
        return True
    return bool(quote) and (cell.count("\n") > 5 or (ends[0] == quote) != (ends[1] == quote))

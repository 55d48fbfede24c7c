"""Where the rows of a sheet's table are, and why every other row is none of them."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from garage.records.tabular.reading import CellValue, Row, Sheet, row_text, text_of
from garage.records.tabular.words import plain, words_of_headers, words_of_totals

#: Title rows, addresses and blank lines above a header are fewer: judgement.
HEAD_ROWS = 60
#: Cells of a later row equal to the header's, from which it is the header once more: judgement.
REPEATED_SHARE = 0.8
#: Of the columns that data rows fill; a totals row or a note fills fewer: judgement.
TOTALS_SHARE = 0.7
#: A program that leaves out empty cells at line ends does so often; a slip is rare: judgement.
SHORT_SHARE = 0.05
SHORT_ROWS = 3
_BRACKETS = re.compile(r"[(\[].*?[)\]]")

BLANK = "blank line"
TITLE = "above the column names"
HEADER = "column names"
REPEATED = "column names once more"
TOTALS = "a sum of other rows"
NOTE = "a note or title across the table"
WIDE = "more cells than columns: a separator inside a cell shifts what follows"
SHORT = "fewer cells than columns: which are missing cannot be told"


@dataclass(frozen=True, slots=True)
class Skipped:
    """Rows from `first` to `last` that are no rows of the table, why, and how the first reads."""

    first: int
    last: int
    reason: str
    text: str


@dataclass(frozen=True)
class Layout:
    """The form of one sheet; `headers` are made distinct by number, in the order of the columns.

    `header_rows` holds the row numbers of the header (none, one or two).
    """

    sheet: str
    headers: tuple[str, ...]
    header_rows: tuple[int, ...]
    pads_short_rows: bool

    @property
    def first_data_row(self) -> int:
        return self.header_rows[-1] + 1 if self.header_rows else 1


def layout_find(sheet: Sheet) -> Layout:
    """The header and the columns, from the start of the sheet; `rows_sorted` applies them."""
    head = list(islice(sheet.rows(), HEAD_ROWS * 5))
    names = _header_rows(head[:HEAD_ROWS])
    below = [row for row in head if not names or row.number > names[-1].number]
    widths = Counter(_filled_width(row.cells) for row in below if any(map(text_of, row.cells)))
    # Without names the usual width counts; a name over an empty column still makes a column.
    width = max(map(_filled_width, [row.cells for row in names]), default=0)
    if not names and widths:
        width = max(widths, key=lambda each: (widths[each], each))
    raw_widths = Counter(len(row.cells) for row in below if any(map(text_of, row.cells)))
    short = sum(count for each, count in raw_widths.items() if 1 < each < width)
    pads = short >= SHORT_ROWS and short > SHORT_SHARE * raw_widths.total()
    return Layout(
        sheet.name, _headers(names, width), tuple(row.number for row in names), pads_short_rows=pads
    )


def rows_sorted(sheet: Sheet, layout: Layout) -> Iterator[Row | Skipped]:
    """Every row of the sheet, once: as a row of the table, cut to its columns, or as skipped."""
    width = len(layout.headers)
    names = [plain(header) for header in layout.headers]
    blank: tuple[int, int] | None = None
    for row in sheet.rows():
        if blank is None and _is_plainly_data(row, layout, width):
            yield row
            continue
        filled = sum(1 for cell in row.cells if text_of(cell))
        if filled == 0:
            blank = (blank[0] if blank else row.number, row.number)
            continue
        if blank:
            yield Skipped(*blank, BLANK, "")
            blank = None
        reason = _reason(row, filled, layout, names)
        if reason is not None:
            yield Skipped(row.number, row.number, reason, row_text(row.cells))
            continue
        cells = row.cells[:width]
        yield Row(row.number, cells + [None] * (width - len(cells)))
    if blank:
        yield Skipped(*blank, BLANK, "")


def rows_skipped(sheet: Sheet, layout: Layout) -> tuple[Skipped, ...]:
    """All skipped rows of the sheet; a run of neighbours with one reason is one entry."""
    runs: list[Skipped] = []
    for each in rows_sorted(sheet, layout):
        if not isinstance(each, Skipped):
            continue
        last = runs[-1] if runs else None
        if last and last.reason == each.reason and last.last + 1 == each.first:
            runs[-1] = Skipped(last.first, each.last, last.reason, last.text)
        else:
            runs.append(each)
    return tuple(runs)


def _is_plainly_data(row: Row, layout: Layout, width: int) -> bool:
    """A full row that begins with a number or code: none of the reasons to skip can hold.

    Only for speed; most rows of a long file are such.
    """
    cells = row.cells
    if len(cells) != width or width < 2 or row.number < layout.first_data_row:
        return False
    first, second = cells[0], cells[1]
    return (
        isinstance(first, str)
        and first[-1:].isdigit()
        and " " not in first
        and isinstance(second, str)
        and bool(second.strip())
    )


def _reason(row: Row, filled: int, layout: Layout, names: list[str]) -> str | None:
    width = len(layout.headers)
    if row.number in layout.header_rows:
        return HEADER
    if row.number < layout.first_data_row:
        return TITLE
    if _filled_width(row.cells) > width:
        return WIDE
    if width > 2 and filled == 1:
        return NOTE
    if _repeats(row.cells, names):
        return REPEATED
    if filled <= TOTALS_SHARE * width and _is_total(row.cells):
        return TOTALS
    if len(row.cells) < width and not layout.pads_short_rows:
        return SHORT
    return None


def _filled_width(cells: list[CellValue]) -> int:
    return next((len(cells) - i for i, cell in enumerate(reversed(cells)) if text_of(cell)), 0)


def _repeats(cells: list[CellValue], names: list[str]) -> bool:
    first = next((cell for cell in cells if cell is not None), None)
    if not isinstance(first, str):
        return False
    pairs = [(plain(text_of(cell)), name) for cell, name in zip(cells, names, strict=False) if name]
    filled = [(text, name) for text, name in pairs if text]
    # A header of two lines may be repeated by either of them.
    same = sum(text == name or f" {text} " in f" {name} " for text, name in filled)
    return len(filled) > 1 and same >= REPEATED_SHARE * len(filled) and not _has_digits(cells)


def _has_digits(cells: list[CellValue]) -> bool:
    return any(
        not isinstance(cell, str | None) or any(map(str.isdigit, cell or "")) for cell in cells
    )


def _is_total(cells: list[CellValue]) -> bool:
    totals = words_of_totals()
    for cell in cells:
        if isinstance(cell, str) and cell.strip():
            text = plain(cell)
            return text in totals or (text.startswith("total ") and len(text.split()) <= 4)
    return False


def _header_rows(head: list[Row]) -> list[Row]:
    """The row or two rows that name the columns; none if no row looks like names."""
    best, best_score = None, 0.0
    known = words_of_headers()
    usual = Counter(_filled_width(row.cells) for row in head if any(map(text_of, row.cells)))
    width = max(usual, key=lambda each: (usual[each], each), default=0)
    for at, row in enumerate(head):
        texts = [text_of(cell) for cell in row.cells]
        filled = [text for text in texts if text]
        if not filled or any(not isinstance(cell, str | None) for cell in row.cells):
            continue
        named = sum(1 for text in filled if plain(_BRACKETS.sub("", text)) in known)
        wordy = sum(1 for text in filled if text[0].isalpha() and len(text) <= 40)
        score = 2.0 * named + wordy + (1.0 if len(filled) >= 0.8 * width else -1.0)
        if wordy < 0.75 * len(filled) or (named == 0 and not _unlike_below(head, at)):
            continue
        if score > best_score:
            best, best_score = at, score
    if best is None:
        return []
    return _with_neighbour(head, best)


def _unlike_below(head: list[Row], at: int) -> bool:
    """No cell of the row has digits, and the rows below have a column of them."""
    below = [row for row in head[at + 1 : at + 21] if sum(map(bool, map(text_of, row.cells))) > 1]
    if not below or _has_digits(head[at].cells):
        return False
    return sum(_has_digits(row.cells) for row in below) >= 0.5 * len(below)


def _with_neighbour(head: list[Row], at: int) -> list[Row]:
    """Two lines of names: the neighbour has names or units only, and what follows has digits."""
    rows = head[at : at + 2]
    if len(rows) == 2 and _is_second_line(head, at + 1):
        return rows
    if at > 0 and _is_upper_line(head[at - 1], head[at]):
        return head[at - 1 : at + 1]
    return rows[:1]


def _is_second_line(head: list[Row], at: int) -> bool:
    row = head[at]
    texts = [text_of(cell) for cell in row.cells if text_of(cell)]
    if not texts or any(len(text) > 15 for text in texts) or not _unlike_below(head, at):
        return False
    known = words_of_headers() | {
        "km",
        "mi",
        "eur",
        "gbp",
        "usd",
        "no",
        "number",
        "date",
        "h",
        "reading",
    }
    return sum(plain(text) in known for text in texts) >= 0.5 * len(texts)


def _is_upper_line(upper: Row, lower: Row) -> bool:
    texts = [text_of(cell) for cell in upper.cells if text_of(cell)]
    if len(texts) < 2 or _has_digits(upper.cells):
        return False
    return sum(plain(text) in words_of_headers() for text in texts) >= 0.5 * len(texts)


def _headers(rows: list[Row], width: int) -> tuple[str, ...]:
    names: list[str] = []
    group = ""
    for column in range(width):
        parts = [text_of(row.cells[column]) if column < len(row.cells) else "" for row in rows]
        if len(parts) == 2 and parts[1]:
            # A name over several columns stands in the first of them alone.
            group = parts[0] or group
            parts = [group, parts[1]]
        elif len(parts) == 2:
            group = ""
        names.append(" ".join(" ".join(parts).split()) or f"column {column + 1}")
    seen: Counter[str] = Counter()
    distinct = []
    for name in names:
        seen[name] += 1
        distinct.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return tuple(distinct)

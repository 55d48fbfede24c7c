"""Read a file as rows of cells, streamed, each row with its number in the file."""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import TextIO
from zipfile import BadZipFile, ZipFile

from python_calamine import CalamineError, CalamineWorkbook

from garage.records.tabular.dialect import SAMPLE_RECORDS, Dialect, dialect_find, records
from garage.records.tabular.encoding import Encoding, encoding_find
from garage.records.tabular.errors import TableUnreadable

#: A line longer than this is no row of a table; reading it whole would fill the memory.
MAX_LINE_CHARACTERS = 1_000_000
#: What an XLSX file may unpack to. A million rows of 15 cells take some 700 MB of XML; a file
#: that unpacks to more is damaged or made to do harm: judgement.
MAX_UNPACKED_BYTES = 2_000_000_000

#: None is an empty cell. Text files have text alone; a spreadsheet's cells keep their type.
CellValue = str | float | bool | date | datetime | time | timedelta | None


@dataclass(frozen=True, slots=True)
class Row:
    """A row as it stands; `number` is the line it begins on, or the spreadsheet's row, from 1."""

    number: int
    cells: list[CellValue]


@dataclass(frozen=True)
class Sheet:
    """One table of a file; `rows()` reads it anew, and holds one row at a time."""

    name: str
    rows: Callable[[], Iterator[Row]]


@dataclass(frozen=True)
class RawTable:
    """A file that was recognised; `encoding` and `dialect` are None for a spreadsheet."""

    path: Path
    sheets: tuple[Sheet, ...]
    encoding: Encoding | None = None
    dialect: Dialect | None = None

    def sheet(self, name: str) -> Sheet | None:
        return next((sheet for sheet in self.sheets if sheet.name == name), None)


def table_read(
    path: Path, *, encoding: Encoding | None = None, dialect: Dialect | None = None
) -> RawTable:
    """What kind of file this is and how to read its rows; nothing of it is kept in memory.

    `encoding` and `dialect` take the place of those found. TableUnreadable says what stops it.
    """
    try:
        with path.open("rb") as file:
            start = file.read(8)
        if start.startswith(b"PK\x03\x04"):
            return _workbook(path)
        if start.startswith(b"\xd0\xcf\x11\xe0"):
            raise TableUnreadable(
                f"{path.name}: a spreadsheet is read as XLSX; got the older binary form, or one "
                "with a password. Save it as XLSX or CSV, without a password."
            )
        encoding = encoding or encoding_find(path)
        dialect = dialect or _dialect(path, encoding)
    except OSError as error:
        raise TableUnreadable(
            f"{path.name}: the file must be readable; got: {error.strerror}. Check the path."
        ) from error
    found = (encoding, dialect)
    sheet = Sheet("", lambda: _text_rows(path, *found))
    return RawTable(path, (sheet,), encoding, dialect)


def _dialect(path: Path, encoding: Encoding) -> Dialect:
    with _text(path, encoding) as file:
        lines = list(islice(_lines(path, file), SAMPLE_RECORDS))
        stated = _stated_delimiter(lines)
        if stated is None:
            sample = lines + _peculiar_lines(path, file)
            return dialect_find(sample)
    found = dialect_find(lines[1:])
    return Dialect(stated, found.quote, found.has_backslash)


def _peculiar_lines(path: Path, file: TextIO) -> list[str]:
    """Lines further on with a backslash or quotation mark: the start may have none."""
    return list(
        islice((line for line in _lines(path, file) if "\\" in line or '"' in line), SAMPLE_RECORDS)
    )


def _stated_delimiter(lines: list[str]) -> str | None:
    """Some spreadsheets write `sep=;` as the first line."""
    first = lines[0].rstrip("\r\n") if lines else ""
    return first[4] if len(first) == 5 and first.lower().startswith("sep=") else None


def _text(path: Path, encoding: Encoding) -> TextIO:
    return path.open(encoding=encoding.name, newline="", errors="strict")


def _lines(path: Path, file: TextIO) -> Iterator[str]:
    number = 0
    try:
        while line := file.readline(MAX_LINE_CHARACTERS):
            number += 1
            if len(line) == MAX_LINE_CHARACTERS:
                raise TableUnreadable(
                    f"{path.name} line {number}: a line has fewer than {MAX_LINE_CHARACTERS} "
                    "characters; got a longer one. Check that this is a table."
                )
            yield line
    except UnicodeDecodeError as error:
        raise TableUnreadable(
            f"{path.name} after line {number}: the file must be in one encoding; got bytes that "
            f"are not {error.encoding}. Choose another encoding, or save the file as UTF-8."
        ) from error


def _text_rows(path: Path, encoding: Encoding, dialect: Dialect) -> Iterator[Row]:
    line = 1
    with _text(path, encoding) as file:
        try:
            for line, cells in records(_lines(path, file), dialect):
                if line == 1 and len(cells) <= 2 and cells and cells[0].lower()[:4] == "sep=":
                    continue
                yield Row(line, [cell if cell else None for cell in cells])
        except csv.Error as error:
            raise TableUnreadable(
                f"{path.name} after line {line}: a quoted cell is closed again and has at most "
                f"{csv.field_size_limit()} characters; got: {error}. Look for a quotation mark "
                "that is never closed."
            ) from error


def _workbook(path: Path) -> RawTable:
    try:
        with ZipFile(path) as archive:
            size = sum(entry.file_size for entry in archive.infolist())
        if size > MAX_UNPACKED_BYTES:
            raise TableUnreadable(
                f"{path.name}: a spreadsheet unpacks to at most {MAX_UNPACKED_BYTES} bytes; got "
                f"{size}. Save the sheet as CSV, or in parts."
            )
        names = CalamineWorkbook.from_path(path).sheet_names
    except (CalamineError, BadZipFile) as error:
        raise TableUnreadable(
            f"{path.name}: a spreadsheet is read as XLSX; got a file that is none, or is damaged "
            f"({error}). Save it again as XLSX or CSV."
        ) from error
    return RawTable(path, tuple(Sheet(name, _sheet_reader(path, name)) for name in names))


def _sheet_reader(path: Path, name: str) -> Callable[[], Iterator[Row]]:
    def read() -> Iterator[Row]:
        sheet = CalamineWorkbook.from_path(path).get_sheet_by_name(name)
        if sheet.start is None:
            return
        before: list[CellValue] = [None] * sheet.start[1]
        for number, cells in enumerate(sheet.iter_rows(), 1):
            yield Row(number, before + [None if cell == "" else cell for cell in cells])

    return read


def text_of(cell: CellValue) -> str:
    """A cell as a person reads it: dates as YYYY-MM-DD, whole numbers without a point."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    return str(cell)


def row_text(cells: list[CellValue], *, limit: int = 120) -> str:
    """A row on one line, for lists of what was skipped."""
    flat = " ".join(" | ".join(text for text in map(text_of, cells) if text).split())
    return flat if len(flat) <= limit else f"{flat[:limit]}…"

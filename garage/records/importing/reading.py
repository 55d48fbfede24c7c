"""Read an import file: bytes to text to rows, never more than one row held at a time."""

import codecs
import csv
import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple, TextIO

from garage.records.importing.columns import FAULT_COLUMNS, FileKind
from garage.records.importing.faults import ImportRefused, shown

#: A line longer than this is no row of these files; reading it whole would fill the memory.
MAX_LINE_CHARACTERS = 1_000_000
#: Faults named before the reader is sent to mend the file.
FAULTS_SHOWN = 10


@dataclass(frozen=True)
class SourceFile:
    """A file whose header and encoding hold; `columns` is its header without blanks."""

    kind: FileKind
    path: Path
    columns: tuple[str, ...]
    row_count: int
    has_byte_order_mark: bool


class RawRow(NamedTuple):
    """A row as it stands in the file; `line` is the first line it stands on, from 1."""

    line: int
    cells: list[str]


def source_open(kind: FileKind, path: Path) -> SourceFile:
    """Read the file once for its form; ImportRefused names everything that stops it."""
    if path.exists() and not path.is_file():
        raise ImportRefused(
            f"{path}: an import file is read twice, so it is a regular file; got something else. "
            "Write it to a file first."
        )
    try:
        with path.open("rb") as file:
            start = file.read(4)
        _check_encoding(path, start)
        with _text(path) as file:
            records = _records(path, file)
            header = next(records, None)
            if header is None:
                raise ImportRefused(
                    f"{path.name}: the first line names the columns; got an empty file. "
                    f"Write a first line with {', '.join(kind.required)} at least."
                )
            columns = _header_check(kind, path, header)
            row_count = sum(1 for _ in records)
    except OSError as error:
        raise ImportRefused(
            f"{path}: the file must be readable; got: {error.strerror}. Check the path and "
            "the permissions."
        ) from error
    except UnicodeDecodeError as error:
        raise ImportRefused(_undecodable(path)) from error
    return SourceFile(kind, path, columns, row_count, start.startswith(codecs.BOM_UTF8))


def source_rows(source: SourceFile) -> Iterator[RawRow]:
    """The rows after the header; rows without any text are passed over."""
    with _text(source.path) as file:
        records = _records(source.path, file)
        next(records, None)
        yield from records


def _text(path: Path) -> TextIO:
    return path.open(encoding="utf-8-sig", newline="")


def _lines(path: Path, file: TextIO) -> Iterator[str]:
    number = 0
    while line := file.readline(MAX_LINE_CHARACTERS):
        number += 1
        if len(line) == MAX_LINE_CHARACTERS:
            raise ImportRefused(
                f"{path.name} line {number}: a line has fewer than {MAX_LINE_CHARACTERS} "
                "characters; got a longer one. Check that this is a CSV file."
            )
        yield line


def _records(path: Path, file: TextIO) -> Iterator[RawRow]:
    reader = csv.reader(_lines(path, file), strict=True)
    first_line = 1
    try:
        for cells in reader:
            if any(map(str.strip, cells)):
                yield RawRow(first_line, cells)
            first_line = reader.line_num + 1
    except csv.Error as error:
        raise ImportRefused(
            f"{path.name} line {first_line}: a cell with a comma, a line end or a quotation "
            "mark is quoted, and each quotation mark inside it is doubled; got: "
            f"{error}. Look for a quotation mark that is never closed."
        ) from error


def _check_encoding(path: Path, start: bytes) -> None:
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise ImportRefused(
            f"{path.name}: the file must be UTF-8; got UTF-16. Save it as CSV in UTF-8."
        )


def _undecodable(path: Path) -> str:
    bad = []
    with path.open("rb") as file:
        for number, line in enumerate(iter(lambda: file.readline(MAX_LINE_CHARACTERS), b""), 1):
            try:
                line.decode("utf-8")
            except UnicodeDecodeError as error:
                bad.append(f"line {number} (byte 0x{line[error.start]:02X})")
                if len(bad) == FAULTS_SHOWN:
                    break
    return (
        f"{path.name}: the file must be UTF-8; got bytes that are not at {', '.join(bad)}. Save "
        "it as CSV in UTF-8; nothing of it was imported."
    )


def _header_check(kind: FileKind, path: Path, header: RawRow) -> tuple[str, ...]:
    columns = [cell.strip() for cell in header.cells]
    while columns and not columns[-1]:
        columns.pop()  # a spreadsheet leaves empty columns at the end
    known = set(columns) & set(kind.by_name)
    if not known:
        raise ImportRefused(_no_header(kind, path, columns))
    faults = []
    for position, column in enumerate(columns, 1):
        if not column:
            faults.append(f"every column has a name; got none for column {position}. Name it.")
        elif column not in kind.by_name and column not in FAULT_COLUMNS:
            faults.append(_unknown_column(kind, column))
    faults += [
        f"a column is named once; got {column!r} {columns.count(column)} times. Remove one."
        for column in sorted({name for name in columns if name and columns.count(name) > 1})
    ]
    missing = [name for name in kind.required if name not in known]
    if missing:
        faults.append(
            f"a {kind.name} file has {', '.join(kind.required)}; got none named "
            f"{', '.join(missing)}. Add it."
        )
    if faults:
        raise ImportRefused(*(f"{path.name} line {header.line}: {fault}" for fault in faults))
    return tuple(columns)


def _no_header(kind: FileKind, path: Path, columns: list[str]) -> str:
    hint = ""
    for sign, name in ((";", "semicolons"), ("\t", "tabs")):
        if any(sign in column for column in columns):
            hint = f" The cells seem to be separated by {name}: save it with commas."
    return (
        f"{path.name} line 1: the first line names the columns of a {kind.name} file "
        f"({', '.join(kind.by_name)}); got {shown(', '.join(columns))!r}. Add that line, or check "
        f"that this is the {kind.name} file.{hint}"
    )


def _unknown_column(kind: FileKind, column: str) -> str:
    close = difflib.get_close_matches(column.lower(), kind.by_name, n=2)
    advice = (
        f"Perhaps {' or '.join(close)} is meant."
        if close
        else f"Remove it, or use one of {', '.join(kind.by_name)}."
    )
    return f"a {kind.name} file has no column {shown(column)!r}. {advice}"

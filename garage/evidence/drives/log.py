"""A drive's table read from its text: known columns in kept units, faults by line."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from garage.evidence.drives.columns import ColumnRead, Convert, UnitReader, head_read, unit_known
from garage.evidence.drives.moments import Moments
from garage.records.importing.faults import shown

#: Most rows of one table: 55 hours at one a second. Judgement, no source.
ROWS_MOST = 200_000
_DELIMITERS = ("\t", ";", ",")
_NUMBER = re.compile(r"[+-]?\d{1,12}(?:[.,]\d{1,12})?", re.ASCII)

Column = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class RowFault:
    """A cell or row that was not taken: its line in the text, its column if one, and why."""

    line: int
    column: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class Drive:
    """The rows of a drive.

    Attributes
    ----------
    time_s, distance_km, soot_g, inlet_c, pressure_mbar, speed_rpm, exhaust_flow_kg_h : \
tuple of float or None
        One value a row, None where the cell is empty or at fault; None in place of the tuple
        where the table has no such column. Time counts from the first row.
    row_count : int
        Rows taken.
    faults : tuple of RowFault
    remarks : tuple of str
        Units taken as given, columns not read.
    """

    row_count: int
    time_s: Column | None = None
    distance_km: Column | None = None
    soot_g: Column | None = None
    inlet_c: Column | None = None
    pressure_mbar: Column | None = None
    speed_rpm: Column | None = None
    exhaust_flow_kg_h: Column | None = None
    faults: tuple[RowFault, ...] = ()
    remarks: tuple[str, ...] = ()

    def missing(self, *keys: str) -> tuple[str, ...]:
        """Those of the named columns that the table has not."""
        return tuple(key for key in keys if getattr(self, key) is None)

    def together(self, *keys: str) -> npt.NDArray[np.float64]:
        """The named columns, one a row of the array, at the rows where all of them were read.

        Raises ValueError for a column that the table has not.

        Examples
        --------
        >>> Drive(2, time_s=(0.0, 1.0), soot_g=(5.0, None)).together("time_s", "soot_g").tolist()
        [[0.0], [5.0]]
        """
        absent = self.missing(*keys)
        if absent:
            raise ValueError(f"the table has the columns asked for; it lacks {', '.join(absent)}")
        values = np.array([getattr(self, key) for key in keys], dtype=np.float64)
        kept: npt.NDArray[np.float64] = values[:, ~np.isnan(values).any(axis=0)]
        return kept


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    cells: list[str]


def drive_read(text: str, unit_of: UnitReader = unit_known) -> Drive:
    """Answer what a table of a drive or a burn holds.

    The form is our own: a head, then a row for each moment; columns in any order, parted by
    commas, semicolons or tabs. Heads are plain words with the unit in brackets or behind an
    underscore: ``time_s``, ``distance_km``, ``soot_g``, ``inlet temperature (°C)``, ``pressure
    across the filter [mbar]``, ``speed_rpm``, ``exhaust_flow_kg_h``. Others are passed over and
    named in the remarks. Time is seconds, hh:mm:ss or an ISO stamp. Numbers have a decimal point
    or, all through the table, a decimal comma.

    A row whose time or distance goes back, or whose time cannot be read, is left out; a cell that
    cannot be read is left empty. Each is among the faults.

    Parameters
    ----------
    text : str
    unit_of : callable
        From a quantity and a unit as written to its conversion.

    Returns
    -------
    Drive

    Raises
    ------
    ValueError
        Without a head that names time or distance, with a quotation mark never closed, or with
        more than 200 000 rows.

    Examples
    --------
    >>> drive = drive_read("time_s;soot (g);inlet [°C]\\n0;18,2;600\\n60;17,x;610\\n")
    >>> drive.soot_g, drive.inlet_c, drive.distance_km
    ((18.2, None), (600.0, 610.0), None)
    >>> drive.faults[0].line, drive.faults[0].column
    (3, 'soot_g')
    """
    text = text.removeprefix("\ufeff")
    delimiter = _delimiter(text, unit_of)
    rows = _rows(text, delimiter)
    head = next(rows, None)
    taking = _Taking([] if head is None else head.cells, delimiter, unit_of)
    for count, row in enumerate(rows, 1):
        if count > ROWS_MOST:
            raise ValueError(
                f"a table has at most {ROWS_MOST} rows; got more. Send it in parts, or one row a "
                "second"
            )
        taking.take(row)
    return taking.drive()


def _delimiter(text: str, unit_of: UnitReader) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(_DELIMITERS, key=lambda each: _known_heads(first, each, unit_of))


def _known_heads(line: str, delimiter: str, unit_of: UnitReader) -> int:
    try:
        cells = next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return 0  # told where the rows are read, with the line
    return sum(head_read(cell, unit_of) is not None for cell in cells)


def _rows(text: str, delimiter: str) -> Iterator[_Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield _Row(line, [cell.strip() for cell in cells])
            line = reader.line_num + 1
    except csv.Error as error:
        raise ValueError(
            "a quotation mark in a table is closed, and a cell is short; got from line "
            f"{line}: {error}. Close it or take it out"
        ) from error


class _Taking:
    """Takes the rows of one table."""

    def __init__(self, heads: Sequence[str], delimiter: str, unit_of: UnitReader) -> None:
        self._width = len(heads)
        self._remarks: list[str] = []
        self._faults: list[RowFault] = []
        self._places: dict[str, tuple[int, ColumnRead, Convert]] = {}
        for place, head in enumerate(heads):
            self._place(place, head, head_read(head, unit_of))
        if not {"time_s", "distance_km"} & set(self._places):
            raise ValueError(
                "the head of a drive's table names time or distance, such as `time_s` or "
                f"`distance_km`; got `{shown(delimiter.join(heads))}`. Put the names of the "
                "columns in the first line"
            )
        self._columns: dict[str, list[float | None]] = {key: [] for key in self._places}
        self._moments = Moments(self._places["time_s"][2]) if "time_s" in self._places else None
        self._sign: str | None = None
        self._km = float("-inf")

    def _place(self, place: int, head: str, read: ColumnRead | None) -> None:
        if read is None:
            if head:
                self._remarks.append(f"`{shown(head)}` is not used")
            return
        if read.remark:
            self._remarks.append(read.remark)
        if read.convert is None:
            return
        if read.quantity.key in self._places:
            self._remarks.append(f"`{shown(head)}` is not used: the column is there already")
            return
        self._places[read.quantity.key] = (place, read, read.convert)

    def take(self, row: _Row) -> None:
        if any(row.cells[self._width :]):
            words = f"a row has at most {self._width} cells; a decimal comma may have parted one"
            self._faults.append(RowFault(row.line, None, words))
            return
        found: dict[str, float | None] = {}
        for key, (place, _, _) in self._places.items():
            cell = row.cells[place] if place < len(row.cells) else ""
            try:
                found[key] = self._value(key, cell)
            except ValueError as error:
                self._faults.append(RowFault(row.line, key, f"{error}; got `{shown(cell)}`"))
                if key == "time_s" or str(error) == _BACK:
                    return
                found[key] = None
        km = found.get("distance_km")
        self._km = self._km if km is None else km
        for key, value in found.items():
            self._columns[key].append(value)

    def _value(self, key: str, cell: str) -> float | None:
        if key == "time_s" and self._moments is not None:
            if not cell:
                raise ValueError("each row has its time")
            return self._moments.seconds(cell)
        if not cell:
            return None
        _, read, convert = self._places[key]
        value = convert(self._number(cell))
        if not read.quantity.least <= value <= read.quantity.most:
            least, most = read.quantity.least, read.quantity.most
            raise ValueError(f"`{key}` lies from {least:g} to {most:g}")
        if key == "distance_km" and value < self._km:
            raise ValueError(_BACK)
        return value

    def _number(self, cell: str) -> float:
        if _NUMBER.fullmatch(cell) is None:
            raise ValueError("a number has digits and one decimal sign")
        sign = next((each for each in ",." if each in cell), None)
        if sign is not None:
            if self._sign is None:
                self._sign = sign
            elif sign != self._sign:
                raise ValueError(f"the decimal sign is `{self._sign}` all through the table")
        return float(cell.replace(",", "."))

    def drive(self) -> Drive:
        count = max((len(each) for each in self._columns.values()), default=0)
        return Drive(
            row_count=count,
            faults=tuple(self._faults),
            remarks=tuple(self._remarks),
            **{key: tuple(values) for key, values in self._columns.items()},
        )


_BACK = "distance does not go back"

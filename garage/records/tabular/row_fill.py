"""One source row into one row of our columns: values, codes, and the units beside the numbers."""

from dataclasses import replace
from datetime import date
from operator import itemgetter

from garage.records.importing.columns import Column, Form
from garage.records.tabular.cells import Cell, Reader, State
from garage.records.tabular.evidence import Evidence, is_empty_word
from garage.records.tabular.line_column import JOB_LINE, columns_of
from garage.records.tabular.mapping import ColumnUse, KindUse, Mapping, kind_named, values_plain
from garage.records.tabular.reading import CellValue, Row, text_of
from garage.records.tabular.settle import (
    Rule,
    Setting,
    Settled,
    column_settle,
    settled_for_row,
)
from garage.records.tabular.values import codes_of, value_match
from garage.records.tabular.words import plain

#: Cells remembered for each column; equal cells are read once.
REMEMBERED = 20_000
_DISTANCES = ("odometer", "offset", "last_sound_odometer")
_AMOUNTS = ("labour_cost", "parts_cost", "tax_cost")


class KindFiller:
    """Fills the rows of one kind by a mapping; what whole columns prove is settled beforehand."""

    def __init__(self, use: KindUse, mapping: Mapping, evidence: Evidence, *, as_of: date) -> None:
        self.kind = kind_named(use.kind)
        self._uses = {each.column: each for each in use.columns}
        self._place = {column.header: at for at, column in enumerate(evidence.columns)}
        self._columns = columns_of(self.kind)
        self._readers = {name: Reader(column, as_of) for name, column in self._columns.items()}
        self._values = values_plain(mapping.values)
        self._conditional: dict[str, list[Rule]] = {}
        for rule in mapping.rules:
            if rule.when_source is not None:
                self._conditional.setdefault(rule.source, []).append(rule)
        self._settled = {
            column.header: column_settle(
                column, [rule for rule in mapping.rules if rule.source == column.header]
            )
            for column in evidence.columns
            if column.header in mapping.sources_used
        }
        self._known: dict[str, dict[tuple[type, CellValue], Cell]] = {}

    @property
    def has_lines(self) -> bool:
        """Whether a line of free text tells the operations of its rows."""
        return JOB_LINE.name in self._uses

    def sources_of(self, column: str) -> tuple[str, ...]:
        use = self._uses.get(column)
        return use.sources if use is not None else ()

    def fill(self, row: Row) -> dict[str, Cell]:
        """Our columns that the mapping fills, or that others tell of."""
        cells = {name: self._cell(name, use, row) for name, use in self._uses.items()}
        for source, meant in self._meanings(row):
            for name, code in meant.items():
                is_open = cells.get(name, Cell(State.EMPTY)).state is State.EMPTY
                if name in self._readers and (is_open or source in self.sources_of(name)):
                    cells[name] = Cell(State.VALUE, text_of(row.cells[self._place[source]]), code)
        self._complete(cells, row, "unit", _DISTANCES)
        self._complete(cells, row, "currency", _AMOUNTS)
        for name in self.kind.required:
            # The line may tell the operation.
            if name == "operation" and _has_text(cells.get(JOB_LINE.name)):
                continue
            if cells.get(name, Cell(State.EMPTY)).state is State.EMPTY:
                cells[name] = Cell(
                    State.FAULT, words=f"{name} is needed; got an empty cell. Fill it in."
                )
        return cells

    def _cell(self, name: str, use: ColumnUse, row: Row) -> Cell:
        if use.constant is not None:
            return Cell(State.VALUE, "", use.constant, words="the same for all rows")
        if len(use.sources) > 1:
            texts = [text_of(row.cells[self._place[source]]) for source in use.sources]
            joined = " ".join(filter(None, texts))
            # A part that is missing would let two things bear one name.
            if not all(texts):
                return Cell(State.EMPTY, joined)
            return self._readers[name].read(joined, Settled())
        (source,) = use.sources
        value = row.cells[self._place[source]]
        if source in self._conditional:
            return self._read(name, source, value, self._settled_for(source, row))
        known = self._known.setdefault(name, {})
        key = (type(value), value)
        cell = known.get(key)
        if cell is None:
            cell = self._read(name, source, value, self._settled[source])
            if len(known) < REMEMBERED:
                known[key] = cell
        return cell

    def _read(self, name: str, source: str, value: CellValue, settled: Settled) -> Cell:
        column = self._columns[name]
        raw = text_of(value)
        if not raw or (is_empty_word(raw) and plain(raw) not in self._values.get(source, {})):
            return Cell(State.EMPTY, raw)
        if column.form is Form.CHOICE and not _is_code(column, raw):
            return _unconfirmed(column, raw)
        return self._readers[name].read(value, settled)

    def _meanings(self, row: Row) -> list[tuple[str, dict[str, str]]]:
        found = []
        for source, meant in self._values.items():
            value = meant.get(plain(text_of(row.cells[self._place[source]])))
            if value is not None:
                found.append((source, value))
        return found

    def _settled_for(self, source: str, row: Row) -> Settled:
        rules = [
            (rule, text_of(row.cells[self._place[rule.when_source]]))
            for rule in self._conditional[source]
            if rule.when_source is not None
        ]
        return settled_for_row(self._settled[source], rules)

    def _complete(
        self, cells: dict[str, Cell], row: Row, name: str, measured: tuple[str, ...]
    ) -> None:
        """The unit or currency of the row's numbers: its own column, the cells, what is settled."""
        if name not in self.kind.by_name:
            return
        filled = [
            each for each in measured if each in cells and cells[each].state is not State.EMPTY
        ]
        if not filled:
            cells.pop(name, None)
            return
        beside = itemgetter(*filled)(cells) if len(filled) > 1 else (cells[filled[0]],)
        told = {each for cell in beside for each in _told(cell, name)}
        stated = cells.get(name)
        if stated is not None and stated.state is not State.EMPTY:
            # A constant is for cells that say nothing themselves; a column of its own must agree.
            is_constant = self._uses[name].constant is not None if name in self._uses else False
            if stated.state is State.VALUE and told and stated.value not in told:
                if is_constant and len(told) == 1:
                    cells[name] = replace(stated, value=told.pop(), words="it stands in the cell")
                else:
                    readings = tuple(sorted(told | {stated.value}))
                    cells[name] = _waits(name, readings, "the cell and the column disagree")
            return
        cells[name] = self._from_beside(name, filled, told, row)

    def _from_beside(self, name: str, filled: list[str], told: set[str], row: Row) -> Cell:
        setting = Setting.UNIT if name == "unit" else Setting.CURRENCY
        if len(told) == 1:
            return Cell(State.VALUE, "", told.pop(), words="it stands in the cell")
        settled = [
            self._settled_for(source, row) if source in self._conditional else self._settled[source]
            for each in filled
            for source in self.sources_of(each)
        ]
        said = {value for each in settled if (value := each.get(setting)) is not None}
        if len(said) == 1 and (not told or said <= told):
            return Cell(State.VALUE, "", said.pop(), words=settled[0].why.get(setting, ""))
        readings = tuple(sorted(told or said)) or (("km", "mi") if name == "unit" else ())
        why = "; ".join(dict.fromkeys(filter(None, (each.why.get(setting) for each in settled))))
        return _waits(name, readings, why or "nothing says which")


def _has_text(cell: Cell | None) -> bool:
    return cell is not None and cell.state is State.VALUE


def _told(cell: Cell, name: str) -> tuple[str, ...]:
    return cell.units if name == "unit" else cell.currencies


def _waits(name: str, readings: tuple[str, ...], why: str) -> Cell:
    return Cell(State.WAITS, readings=readings, words=f"which {name}? {why}")


def _is_code(column: Column, raw: str) -> bool:
    wanted = plain(raw)
    return any(plain(code) == wanted for code in column.values) or column.name == "unit"


def _unconfirmed(column: Column, raw: str) -> Cell:
    match = value_match(column.name, raw, codes_of(column.name))
    readings = (match.code,) if match else ()
    return Cell(State.WAITS, raw, readings=readings, words="nobody has said what this value means")

"""Everything a person needs to see of a table to confirm how it lands: columns, values, doubts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from garage.records.importing.columns import Column, Form
from garage.records.tabular.cells import NUMBER_FORMS
from garage.records.tabular.column_content import MOST_CODES
from garage.records.tabular.dates import DateOrder
from garage.records.tabular.evidence import ColumnEvidence, Evidence, evidence_gather
from garage.records.tabular.landing import MappedRow, preview
from garage.records.tabular.layout import Layout, Skipped, layout_find, rows_skipped
from garage.records.tabular.line_column import columns_of
from garage.records.tabular.mapping import Mapping, kind_named, mapping_draft, values_plain
from garage.records.tabular.propose import KindProposal, columns_propose, kinds_fed
from garage.records.tabular.reading import RawTable, Sheet
from garage.records.tabular.settle import SETTING_VALUES, Setting, column_settle
from garage.records.tabular.values import coded_columns, codes_of, values_propose
from garage.records.tabular.words import plain


@dataclass(frozen=True)
class Meaning:
    """One of our columns that a value may tell of, the codes it may hold, and the likeliest.

    `codes` is empty where the column takes the catalogue's codes; `said` is what a person
    confirmed, `proposed` what the words suggest.
    """

    column: str
    codes: tuple[str, ...]
    said: str
    proposed: str
    reason: str


@dataclass(frozen=True)
class ValueQuestion:
    """What does this value of a source column mean? `count` is how often it occurs."""

    source: str
    value: str
    count: int
    meanings: tuple[Meaning, ...]


@dataclass(frozen=True)
class SettingQuestion:
    """What a source column leaves open; `allowed` is empty for a currency, `said` where nothing
    was said."""

    source: str
    setting: Setting
    allowed: tuple[str, ...]
    why: str
    said: str


@dataclass(frozen=True)
class TableLook:
    """A table, how it would land by a mapping, and what is still to be said."""

    layout: Layout
    row_count: int
    kinds: tuple[KindProposal, ...]
    values: tuple[ValueQuestion, ...]
    settings: tuple[SettingQuestion, ...]
    preview: tuple[MappedRow, ...]
    skipped: tuple[Skipped, ...]


def mapping_first(table: RawTable, *, as_of: date) -> Mapping:
    """The mapping proposed for the first sheet of a table, for a person to confirm."""
    _, layout, evidence = _read(table, "", as_of)
    return mapping_draft(table, layout, kinds_fed(columns_propose(evidence)))


def table_look(table: RawTable, mapping: Mapping, *, as_of: date) -> TableLook:
    """Look through the whole table for what a person must say, and show its first rows."""
    sheet, layout, evidence = _read(table, mapping.sheet, as_of)
    return TableLook(
        layout=layout,
        row_count=evidence.row_count,
        kinds=columns_propose(evidence),
        values=tuple(_value_questions(mapping, evidence)),
        settings=tuple(_setting_questions(mapping, evidence)),
        preview=preview(mapping, table, as_of=as_of) if mapping.kinds else (),
        skipped=tuple(rows_skipped(sheet, layout)),
    )


def _read(table: RawTable, name: str, as_of: date) -> tuple[Sheet, Layout, Evidence]:
    sheet = table.sheet(name) or table.sheets[0]
    layout = layout_find(sheet)
    return sheet, layout, evidence_gather(sheet, layout, as_of=as_of)


def _fed(mapping: Mapping) -> dict[str, list[Column]]:
    """Which of our columns each source column fills by itself."""
    fed: dict[str, list[Column]] = {}
    for kind in mapping.kinds:
        for use in kind.columns:
            if len(use.sources) == 1:
                column = columns_of(kind_named(kind.kind))[use.column]
                fed.setdefault(use.sources[0], []).append(column)
    return fed


def _value_questions(mapping: Mapping, evidence: Evidence) -> Iterator[ValueQuestion]:
    fed = _fed(mapping)
    known = values_plain(mapping.values)
    elsewhere = {column.name for columns in fed.values() for column in columns}
    for source, columns in fed.items():
        found = evidence.column(source)
        coded = [each.name for each in columns if each.name in coded_columns() - {"unit"}]
        if found is None or not coded or len(found.texts) > MOST_CODES:
            continue
        if "operation" in coded and "part_kind" not in elsewhere:
            coded.append("part_kind")
        said = known.get(source, {})
        for proposal in values_propose(found, coded):
            if _is_ours(proposal.value, coded):
                continue
            meant = said.get(plain(proposal.value), {})
            yield ValueQuestion(
                source,
                proposal.value,
                proposal.count,
                tuple(
                    Meaning(
                        name,
                        codes_of(name),
                        meant.get(name, ""),
                        match.code if (match := proposal.matches.get(name)) else "",
                        match.reason if match else "",
                    )
                    for name in coded
                ),
            )


def _is_ours(value: str, coded: list[str]) -> bool:
    """Whether the value is one of our codes as it stands, so that nothing needs to be asked."""
    return any(plain(value) in map(plain, codes_of(name)) for name in coded)


def _setting_questions(mapping: Mapping, evidence: Evidence) -> Iterator[SettingQuestion]:
    named = {use.column for kind in mapping.kinds for use in kind.columns}
    for source, columns in _fed(mapping).items():
        found = evidence.column(source)
        if found is None:
            continue
        rules = [rule for rule in mapping.rules if rule.source == source]
        said = {rule.setting: rule.value for rule in rules if rule.when_source is None}
        settled = column_settle(found)
        for setting in _left_open(found, columns, named):
            if settled.get(setting) is None:
                yield SettingQuestion(
                    source,
                    setting,
                    SETTING_VALUES[setting],
                    settled.why.get(setting, ""),
                    said.get(setting, ""),
                )


def _left_open(found: ColumnEvidence, columns: list[Column], named: set[str]) -> Iterator[Setting]:
    """The settings on which cells of this column depend."""
    forms = {each.form for each in columns}
    if Form.DATE in forms:
        serial = [orders for orders in found.orders if DateOrder.EPOCH_1900 in orders]
        if any(len(orders) > 1 for orders in found.orders if orders not in serial):
            yield Setting.DATE_ORDER
        if serial:
            yield Setting.SERIAL_EPOCH
    if forms & NUMBER_FORMS and found.ambiguous_numbers:
        yield Setting.DECIMAL_SIGN
    if forms & {Form.DISTANCE, Form.SIGNED_DISTANCE} and "unit" not in named:
        yield Setting.UNIT
    if Form.AMOUNT in forms and "currency" not in named:
        yield Setting.CURRENCY

"""Whether a kept mapping still fits a new file, and what has changed."""

from dataclasses import dataclass, replace

from rapidfuzz import fuzz

from garage.records.tabular.layout import Layout, layout_find
from garage.records.tabular.mapping import ColumnUse, KindUse, Mapping
from garage.records.tabular.reading import RawTable
from garage.records.tabular.words import header_synonyms, plain

#: Share of equal letters from which a new name is offered for a lost one: judgement.
RENAMED_FROM = 70


@dataclass(frozen=True)
class Moved:
    """A column that stands elsewhere; places are counted from 1."""

    header: str
    was: int
    now: int


@dataclass(frozen=True)
class Renamed:
    """A lost column and the new one that may be it; a person confirms."""

    was: str
    now: str
    reason: str


@dataclass(frozen=True)
class Fit:
    """`fits` if every column the mapping uses is there by name; moved and added ones do no harm.

    `layout` is None where the sheet itself is missing. `missing` are columns in use without an
    offer; `remarks` tell of changes that need no answer.
    """

    layout: Layout | None
    fits: bool
    moved: tuple[Moved, ...] = ()
    renamed: tuple[Renamed, ...] = ()
    missing: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def mapping_fits(mapping: Mapping, table: RawTable) -> Fit:
    """Compare the table's columns with those the mapping was made for."""
    sheet = table.sheet(mapping.sheet)
    if sheet is None and len(table.sheets) == 1:
        sheet = table.sheets[0]
    if sheet is None:
        names = ", ".join(each.name for each in table.sheets)
        return Fit(None, False, remarks=(f"no sheet {mapping.sheet!r}; the file has {names}",))
    layout = layout_find(sheet)
    now = {header: place for place, header in enumerate(layout.headers, 1)}
    was = {header: place for place, header in enumerate(mapping.headers, 1)}
    lost = [header for header in mapping.sources_used if header not in now]
    added = [header for header in layout.headers if header not in was]
    renamed = _renamed(lost, added, was, now)
    found = {each.was for each in renamed}
    taken = {each.now for each in renamed}
    return Fit(
        layout,
        fits=not lost,
        moved=tuple(
            Moved(header, was[header], now[header])
            for header in mapping.sources_used
            if header in now and now[header] != was[header]
        ),
        renamed=tuple(renamed),
        missing=tuple(header for header in lost if header not in found),
        added=tuple(header for header in added if header not in taken),
        remarks=tuple(_remarks(mapping, table)),
    )


def mapping_renamed(mapping: Mapping, names: dict[str, str], layout: Layout) -> Mapping:
    """The mapping with confirmed new names of source columns, made for the new layout."""

    def new(header: str) -> str:
        return names.get(header, header)

    return replace(
        mapping,
        headers=layout.headers,
        sheet=layout.sheet,
        kinds=tuple(
            KindUse(
                kind.kind,
                tuple(
                    ColumnUse(use.column, tuple(map(new, use.sources)), use.constant)
                    for use in kind.columns
                ),
            )
            for kind in mapping.kinds
        ),
        values={new(source): map_ for source, map_ in mapping.values.items()},
        rules=tuple(
            replace(
                rule,
                source=new(rule.source),
                when_source=None if rule.when_source is None else new(rule.when_source),
            )
            for rule in mapping.rules
        ),
    )


def _renamed(
    lost: list[str], added: list[str], was: dict[str, int], now: dict[str, int]
) -> list[Renamed]:
    offers = sorted(
        (
            (score, old, new, reason)
            for old in lost
            for new in added
            for score, reason in [_likeness(old, new, was[old] == now[new])]
            if score >= RENAMED_FROM
        ),
        key=lambda offer: -offer[0],
    )
    renamed: list[Renamed] = []
    for _, old, new, reason in offers:
        if all(old != each.was and new != each.now for each in renamed):
            renamed.append(Renamed(old, new, reason))
    return renamed


def _likeness(old: str, new: str, is_in_place: bool) -> tuple[float, str]:
    both = {plain(old), plain(new)}
    if any(both <= names for names in header_synonyms().values()):
        return 100.0, "both are names of one thing"
    score = fuzz.token_sort_ratio(plain(old), plain(new))
    if is_in_place:
        return score + 10, "it stands in the same place and is spelt alike"
    return score, "it is spelt alike"


def _remarks(mapping: Mapping, table: RawTable) -> list[str]:
    remarks = []
    encoding = table.encoding.name if table.encoding else None
    if encoding != mapping.encoding:
        remarks.append(f"the encoding was {mapping.encoding} and is {encoding}")
    if table.dialect != mapping.dialect:
        remarks.append(f"the cells were {mapping.dialect} and are {table.dialect}")
    return remarks

"""How one source's tables become our import files: what a person has confirmed, kept as JSON."""

import json
from collections.abc import Mapping as MappingOf
from dataclasses import asdict, dataclass, field

from garage.records.importing.columns import FILE_KINDS, FileKind
from garage.records.tabular.dialect import Dialect
from garage.records.tabular.errors import MappingInvalid
from garage.records.tabular.layout import Layout
from garage.records.tabular.mapping_check import mapping_faults
from garage.records.tabular.propose import KindProposal
from garage.records.tabular.reading import RawTable
from garage.records.tabular.settle import Rule, Setting
from garage.records.tabular.words import plain

#: Raised when an older program would misread what is stored.
FORM_VERSION = 1

#: For each source column: what a value of it (in plain spelling) means, by our columns.
ValueMap = MappingOf[str, MappingOf[str, MappingOf[str, str]]]


@dataclass(frozen=True)
class ColumnUse:
    """What fills one of our columns: source columns (joined by a blank) or one constant."""

    column: str
    sources: tuple[str, ...] = ()
    constant: str | None = None


@dataclass(frozen=True)
class KindUse:
    """One kind of our files that the table feeds."""

    kind: str
    columns: tuple[ColumnUse, ...]


@dataclass(frozen=True)
class Mapping:
    """A confirmed mapping. `headers` are all columns of the table it was made for, in order.

    `values` and `rules` decide codes and ambiguous cells; what they do not decide waits.
    `encoding` and `dialect` tell what the file was; a later one may differ and still fit.
    """

    headers: tuple[str, ...]
    kinds: tuple[KindUse, ...]
    sheet: str = ""
    encoding: str | None = None
    dialect: Dialect | None = None
    values: ValueMap = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    version: int = FORM_VERSION

    @property
    def sources_used(self) -> tuple[str, ...]:
        """Every source column that something depends on, once, in the order of use."""
        used = [source for kind in self.kinds for use in kind.columns for source in use.sources]
        used += [*self.values, *(rule.source for rule in self.rules)]
        used += [rule.when_source for rule in self.rules if rule.when_source is not None]
        return tuple(dict.fromkeys(used))


def kind_named(name: str) -> FileKind:
    """The kind of import file of that name; KeyError if there is none."""
    return next(kind for kind in FILE_KINDS if kind.name == name)


def mapping_draft(table: RawTable, layout: Layout, proposals: tuple[KindProposal, ...]) -> Mapping:
    """The mapping as proposed, for a person to confirm; values and rules are still empty."""
    return Mapping(
        headers=layout.headers,
        kinds=tuple(
            KindUse(
                each.kind.name,
                tuple(
                    ColumnUse(
                        proposal.column.name,
                        proposal.chosen.sources if proposal.chosen else (),
                        None if proposal.chosen else proposal.constant,
                    )
                    for proposal in each.proposals
                    if proposal.is_answered
                ),
            )
            for each in proposals
        ),
        sheet=layout.sheet,
        encoding=table.encoding.name if table.encoding else None,
        dialect=table.dialect,
    )


def values_plain(values: ValueMap) -> dict[str, dict[str, dict[str, str]]]:
    """A value map with its values in plain spelling, as they are looked up."""
    return {
        source: {plain(value): dict(meant) for value, meant in map_.items()}
        for source, map_ in values.items()
    }


def mapping_json(mapping: Mapping) -> str:
    """The mapping as text to keep."""
    return json.dumps(asdict(mapping), ensure_ascii=False, indent=1, sort_keys=True)


def mapping_load(text: str) -> Mapping:
    """A kept mapping; MappingInvalid names every fault it has."""
    try:
        data = json.loads(text)
    except ValueError as error:
        raise MappingInvalid(
            f"a mapping is JSON; got {error}. Make the mapping anew from a file."
        ) from error
    faults = mapping_faults(data, FORM_VERSION)
    if faults:
        raise MappingInvalid(*faults)
    dialect = data.get("dialect")
    return Mapping(
        headers=tuple(data["headers"]),
        kinds=tuple(
            KindUse(
                kind["kind"],
                tuple(
                    ColumnUse(use["column"], tuple(use.get("sources", ())), use.get("constant"))
                    for use in kind["columns"]
                ),
            )
            for kind in data["kinds"]
        ),
        sheet=data.get("sheet", ""),
        encoding=data.get("encoding"),
        dialect=None if dialect is None else Dialect(**dialect),
        values=values_plain(data.get("values", {})),
        rules=tuple(
            Rule(**{**rule, "setting": Setting(rule["setting"])}) for rule in data.get("rules", ())
        ),
    )

"""What the values of coded columns mean in our codes: proposed, for a person to confirm."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from rapidfuzz import fuzz, process

from garage.records.importing.columns import FILE_KINDS, Form
from garage.records.tabular.evidence import ColumnEvidence
from garage.records.tabular.words import plain, word_file

#: Share of equal letters from which a word is a slip of another: judgement.
ALIKE_FROM = 85
SHORTEST_ALIKE = 5
_EXACT, _CONTAINED, _ALIKE = 1.0, 0.8, 0.6


@dataclass(frozen=True)
class ValueMatch:
    """One code, how surely, and the word that led to it."""

    code: str
    confidence: float
    reason: str


@dataclass(frozen=True)
class ValueProposal:
    """A value of the source, how often it occurs, and what it may mean in each of our columns."""

    value: str
    count: int
    matches: dict[str, ValueMatch]


def coded_columns() -> frozenset[str]:
    """Our columns whose cells are codes: those a value map can fill."""
    choices = {
        column.name for kind in FILE_KINDS for column in kind.columns if column.form is Form.CHOICE
    }
    return frozenset({*choices, "part_kind"})


def values_propose(evidence: ColumnEvidence, columns: Iterable[str]) -> tuple[ValueProposal, ...]:
    """Every different value of a source column, the commonest first, with what it may mean.

    One value may tell of several of our columns: "R&R filter" of operation and part kind.
    """
    wanted = tuple(columns)
    return tuple(
        ValueProposal(
            value,
            count,
            {
                column: match
                for column in wanted
                if (match := value_match(column, value, codes_of(column))) is not None
            },
        )
        for value, count in evidence.texts.most_common()
    )


@cache
def codes_of(column: str) -> tuple[str, ...]:
    """The codes a column of ours may hold; none for one that takes free text."""
    return next(
        (each.values for kind in FILE_KINDS for each in kind.columns if each.name == column), ()
    )


@lru_cache(maxsize=16_384)
def value_match(column: str, value: str, codes: tuple[str, ...]) -> ValueMatch | None:
    """The code that a value most likely means, or None."""
    text = plain(value)
    if not text:
        return None
    words = _words(column, codes)
    if text in words:
        return ValueMatch(words[text], _EXACT, f"{value!r} is a word for it")
    held = [word for word in words if f" {word} " in f" {text} "]
    if held:
        # The longest says most: `forced regen` before `regen`, `clear codes` before `codes`.
        word = max(held, key=len)
        return ValueMatch(words[word], _CONTAINED, f"it contains {word!r}")
    if len(text) < SHORTEST_ALIKE:
        return None
    long_words = [word for word in words if len(word) >= SHORTEST_ALIKE]
    found = process.extractOne(text, long_words, scorer=fuzz.ratio, score_cutoff=ALIKE_FROM)
    if found is None:
        return None
    return ValueMatch(words[found[0]], _ALIKE, f"it is spelt nearly like {found[0]!r}")


@cache
def _words(column: str, codes: tuple[str, ...]) -> dict[str, str]:
    listed: dict[str, list[str]] = word_file("value_words.toml")["codes"].get(column, {})
    words = {plain(name): code for code, names in listed.items() for name in names}
    return words | {plain(code): code for code in codes or tuple(listed)}

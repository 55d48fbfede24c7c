"""How well the name of a column fits one of ours."""

import re
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import fuzz, process

from garage.records.tabular.words import header_synonyms, plain, words_not_ours

#: Share of equal letters from which a name is another spelling; below it, other words: judgement.
ALIKE_FROM = 86
#: Shorter names differ by one letter and mean another thing (`reg`, `ref`): judgement.
SHORTEST_ALIKE = 5
SHORTEST_CONTAINED = 4
_BRACKETS = re.compile(r"\s*[(\[].*?[)\]]")
_NUMBERED = re.compile(r" \(\d+\)$")


@dataclass(frozen=True)
class Match:
    """How well a name fits, from 0 to 1, and why."""

    score: float
    reason: str


@lru_cache(maxsize=4_096)
def header_match(header: str, column: str) -> Match | None:
    """The best of: called the same, spelt nearly the same, containing the name; or None."""
    synonyms = header_synonyms().get(column)
    if not synonyms:
        return None
    bare = _NUMBERED.sub("", header)
    spellings = {plain(bare), plain(_BRACKETS.sub("", bare))} - {""}
    own = spellings & synonyms
    if own:
        return Match(1.0, f"{header!r} is a name of it")
    if spellings & words_not_ours():
        return None
    best: Match | None = None
    for spelling in spellings:
        for found in (_alike(spelling, synonyms), _contained(spelling, synonyms)):
            if found and (best is None or found.score > best.score):
                best = found
    return best


def _alike(spelling: str, synonyms: frozenset[str]) -> Match | None:
    if len(spelling) < SHORTEST_ALIKE:
        return None
    names = [name for name in synonyms if len(name) >= SHORTEST_ALIKE]
    found = process.extractOne(
        spelling, names, scorer=fuzz.token_sort_ratio, score_cutoff=ALIKE_FROM
    )
    if found is None:
        return None
    return Match(round(0.9 * found[1] / 100, 3), f"{spelling!r} is spelt nearly like {found[0]!r}")


def _contained(spelling: str, synonyms: frozenset[str]) -> Match | None:
    names = [
        name
        for name in synonyms
        if len(name) >= SHORTEST_CONTAINED and f" {name} " in f" {spelling} "
    ]
    if not names:
        return None
    name = max(names, key=len)
    share = len(name) / len(spelling)
    return Match(round(0.5 + 0.3 * share, 3), f"{spelling!r} contains {name!r}")

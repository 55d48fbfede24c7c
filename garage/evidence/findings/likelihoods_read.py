"""Reads the shares of findings and refuses what does not add up."""

import math
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from garage.evidence.findings.joint import joint_of
from garage.evidence.findings.likelihoods import Likelihoods, Prior, Row, Table
from garage.evidence.findings.vocabulary import LISTS, Vocabulary, vocabulary
from garage.evidence.thresholds import Basis

_HERE = Path(__file__).parent
_ADDS_UP = 1e-9


@cache
def likelihoods() -> Likelihoods:
    """The shares that are shipped, before anything is learnt.

    Examples
    --------
    >>> likelihoods().table("hoses").basis.words
    'common practice, no source'
    """
    return likelihoods_from((_HERE / "likelihoods.toml").read_text(encoding="utf-8"))


def likelihoods_from(text: str, words: Vocabulary | None = None) -> Likelihoods:
    """Read likelihoods for a vocabulary.

    Raises
    ------
    ValueError
        For shares that do not add to 1 or are 0, states that are not known, a finding without a
        table, or a row that can never count.
    """
    words = vocabulary() if words is None else words
    data = tomllib.loads(text)
    tables = tuple(_table(key, row, words) for key, row in data["findings"].items())
    missing = words.keys() - {table.finding for table in tables}
    if missing:
        raise ValueError(f"every finding needs a table; missing {', '.join(sorted(missing))}")
    return Likelihoods(_prior(data["prior"], words), tables)


def _prior(data: Mapping[str, object], words: Vocabulary) -> Prior:
    sensing, upstream, rows = data["sensing"], data["upstream"], data["filter"]
    if (
        not isinstance(sensing, dict)
        or not isinstance(upstream, dict)
        or not isinstance(rows, list)
    ):
        raise ValueError("a prior holds tables sensing and upstream, and rows of filter")
    states = words.states("filter")
    filter_rows = tuple(
        Row(
            when=_when({"upstream": row["when"]} if "when" in row else {}, words),
            shares=_shares("filter", row["share"], states),
            strength=0.0,
        )
        for row in rows
    )
    if not filter_rows or filter_rows[-1].when:
        raise ValueError("the last row of the filter's prior fits every cause")
    return Prior(
        basis=Basis(str(data["basis"])),
        source=str(data.get("source", "")),
        sensing=_shares("sensing", sensing, words.states("sensing")),
        upstream=_shares("upstream", upstream, words.states("upstream")),
        filter_rows=filter_rows,
    )


def _table(key: str, data: Mapping[str, object], words: Vocabulary) -> Table:
    finding = words.finding(key)
    states = tuple(state for state, _ in finding.states)
    rows, strength = data["rows"], data["strength"]
    if not isinstance(rows, list) or not isinstance(strength, int | float) or strength <= 0:
        raise ValueError(f"`{key}` needs rows and a strength above 0; got {strength}")
    told_with = data.get("told_with")
    table = Table(
        finding=key,
        basis=Basis(str(data["basis"])),
        source=str(data.get("source", "")),
        told_with=None if told_with is None else str(told_with),
        rows=tuple(
            Row(
                _when(row.get("when", {}), words),
                _shares(key, row["share"], states),
                float(strength),
            )
            for row in rows
        ),
    )
    used = set(table.rows_by_joint(joint_of(words)).tolist())
    if -1 in used or used != set(range(len(table.rows))):
        raise ValueError(f"each row of `{key}` counts somewhere, and the last everywhere else")
    return table


def _when(
    data: Mapping[str, Sequence[str]], words: Vocabulary
) -> tuple[tuple[str, frozenset[str]], ...]:
    for of, states in data.items():
        if of not in LISTS or not states or set(states) - set(words.states(of)):
            raise ValueError(f"a condition names states of a list; got {of}: {states}")
    return tuple((of, frozenset(states)) for of, states in data.items())


def _shares(
    key: str, data: Mapping[str, float], states: tuple[str, ...]
) -> tuple[tuple[str, float], ...]:
    if set(data) != set(states):
        raise ValueError(f"`{key}` needs a share for {', '.join(states)}; got {', '.join(data)}")
    if not all(0 < share < 1 for share in data.values()):
        raise ValueError(
            f"a share of `{key}` lies between 0 and 1, for nothing is impossible; got {data}"
        )
    if abs(math.fsum(data.values()) - 1) > _ADDS_UP:
        raise ValueError(f"shares of `{key}` add to 1; got {math.fsum(data.values()):g} in {data}")
    return tuple((state, float(data[state])) for state in states)

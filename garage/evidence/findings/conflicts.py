"""Findings that contradict each other: what they may mean, and what to check first."""

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

from garage.evidence.findings.vocabulary import LISTS, Vocabulary, vocabulary

_HERE = Path(__file__).parent

Shown = tuple[tuple[str, frozenset[str]], ...]


class Kind(StrEnum):
    CONFLICT = "conflict"
    AGREEMENT = "agreement"


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table of contradictory evidence."""

    key: str
    kind: Kind
    title: str
    reading: str
    when: tuple[Shown, ...]
    checks: tuple[str, ...]
    closed_by: tuple[Shown, ...]
    holds: tuple[str, ...]
    stays: bool = False
    unless: tuple[Shown, ...] = ()


@dataclass(frozen=True, slots=True)
class Conflict:
    """A rule that the findings show.

    Attributes
    ----------
    found : tuple of (finding, state)
        What contradicts (or, for an agreement, agrees).
    is_open : bool
        Whether its own check is still to do; while so, the lists in `holds` are not settled.
    checks_left : tuple of str
        Its checks not yet done that may be done now, first one first.
    checks_waiting : tuple of str
        Those behind a gate that is not open.
    """

    key: str
    kind: Kind
    title: str
    reading: str
    found: tuple[tuple[str, str], ...]
    is_open: bool
    holds: tuple[str, ...]
    checks_left: tuple[str, ...]
    checks_waiting: tuple[str, ...]


def conflicts_found(
    observed: Mapping[str, str],
    offers: Collection[str],
    rules: tuple[Rule, ...] | None = None,
) -> tuple[Conflict, ...]:
    """The rules that these findings show, those still open first.

    Answers: which findings contradict each other, and what is to be done before money is spent?

    Examples
    --------
    >>> seen = conflicts_found({"raised_pressure": "negative"}, {"hoses"})
    >>> seen[0].key, seen[0].checks_left
    ('negative_at_raised', ('hoses',))
    """
    rules = conflict_rules() if rules is None else rules
    told = [_told(rule, observed, offers) for rule in rules]
    found = [each for each in told if each is not None]
    return tuple(sorted(found, key=lambda each: not each.is_open))


def _told(rule: Rule, observed: Mapping[str, str], offers: Collection[str]) -> Conflict | None:
    shown = [each for each in rule.when if _holds(each, observed)]
    if not shown or any(_holds(each, observed) for each in rule.unless):
        return None
    left = tuple(check for check in rule.checks if check not in observed)
    closed = not left or any(_holds(each, observed) for each in rule.closed_by)
    is_open = rule.stays or not closed
    names = dict.fromkeys(finding for each in shown for finding, _ in each)
    return Conflict(
        key=rule.key,
        kind=rule.kind,
        title=rule.title,
        reading=rule.reading,
        found=tuple((name, observed[name]) for name in names),
        is_open=is_open,
        holds=rule.holds if is_open else (),
        checks_left=tuple(check for check in left if check in offers) if is_open else (),
        checks_waiting=tuple(check for check in left if check not in offers) if is_open else (),
    )


def _holds(shown: Shown, observed: Mapping[str, str]) -> bool:
    return all(observed.get(finding) in states for finding, states in shown)


@cache
def conflict_rules() -> tuple[Rule, ...]:
    """The rules that are shipped."""
    return conflict_rules_from((_HERE / "conflicts.toml").read_text(encoding="utf-8"))


def conflict_rules_from(text: str, words: Vocabulary | None = None) -> tuple[Rule, ...]:
    """Read rules; raises ValueError for a finding, state or list that the vocabulary has not."""
    words = vocabulary() if words is None else words
    return tuple(_rule(key, row, words) for key, row in tomllib.loads(text).items())


def _rule(key: str, row: Mapping[str, object], words: Vocabulary) -> Rule:
    when, checks, holds = row["when"], row["checks"], row["holds"]
    closed_by, stays = row["closed_by"], row.get("stays", False)
    unless = row.get("unless", [])
    if not isinstance(unless, list):
        raise ValueError(f"`unless` of `{key}` is a list; got {unless}")
    if not (isinstance(when, list) and isinstance(closed_by, list) and when):
        raise ValueError(f"`{key}` needs lists `when` and `closed_by`, the first not empty")
    if not (isinstance(checks, list) and isinstance(holds, list) and checks):
        raise ValueError(f"`{key}` needs lists `checks` and `holds`, the first not empty")
    if set(checks) - words.keys() or set(holds) - set(LISTS):
        raise ValueError(f"checks are findings and holds are lists; `{key}` has {checks}, {holds}")
    return Rule(
        key=key,
        kind=Kind(str(row["kind"])),
        title=str(row["title"]),
        reading=str(row["reading"]),
        when=tuple(_shown(each, words) for each in when),
        checks=tuple(checks),
        closed_by=tuple(_shown(each, words) for each in closed_by),
        holds=tuple(holds),
        stays=stays is True,
        unless=tuple(_shown(each, words) for each in unless),
    )


def _shown(row: Mapping[str, list[str]], words: Vocabulary) -> Shown:
    for finding, states in row.items():
        for state in states:
            words.finding(finding).words(state)
    return tuple((finding, frozenset(states)) for finding, states in row.items())

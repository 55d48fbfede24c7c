"""Weighs the written cases and tells where the engine agrees with whoever wrote them.

A case says which state must lead a list, or that it cannot be told yet ("open"), which conflicts
must be named, and which checks may come next. Only what a case says is counted.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TypedDict

from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.weighed import ListResult, Weighed

CASES = Path(__file__).with_name("cases.toml")

LISTS = ("sensing", "filter", "upstream")

# A technician reads the first few lines of a list of checks, not the twentieth.
FIRST_CHECKS = 3

CANNOT_BE_TOLD = "open"


class _Row(TypedDict, total=False):
    """A case as the file has it."""

    id: str
    title: str
    story: str
    kept_apart: bool
    observed: dict[str, str]
    leading: dict[str, str | list[str]]
    conflicts: list[str]
    conflicts_may: list[str]
    next_any: list[str]


@dataclass(frozen=True, slots=True)
class Case:
    """One written case and what its writer expects of it.

    Attributes
    ----------
    leading : mapping of list to states
        One of them must lead; a list that the story does not settle is not among the keys.
    next_any : tuple of findings
        One must be among the first checks; empty where the writer expects none.
    """

    id: str
    title: str
    story: str
    kept_apart: bool
    observed: Mapping[str, str]
    leading: Mapping[str, tuple[str, ...]]
    conflicts: tuple[str, ...]
    conflicts_may: tuple[str, ...]
    next_any: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ListAgreement:
    """What one list came to, beside what was expected of it."""

    of: str
    expected: tuple[str, ...]
    leading: str
    probability: float
    settled: str | None

    @property
    def agrees(self) -> bool:
        """Whether an expected state leads, or the list is open where open was expected."""
        if CANNOT_BE_TOLD in self.expected and self.settled is None:
            return True
        return self.leading in self.expected

    @property
    def settled_wrongly(self) -> bool:
        """Whether a state is settled that the writer refuses: the costliest disagreement."""
        return self.settled is not None and self.settled not in self.expected

    @property
    def words(self) -> str:
        """The disagreement in words, with what came."""
        expected = " or ".join(self.expected)
        how = "settled" if self.settled is not None else "leads, not settled"
        return f"{self.of}: expected {expected}; got {self.leading} {self.probability:.2f} ({how})"


@dataclass(frozen=True, slots=True)
class CaseAgreement:
    """What one case came to, beside what was expected of it.

    Attributes
    ----------
    next_checks : tuple of tuples of findings
        What each of the first checks gives: several findings where they are read at once.
    """

    case: Case
    lists: tuple[ListAgreement, ...]
    conflicts_missed: tuple[str, ...]
    conflicts_unexpected: tuple[str, ...]
    next_checks: tuple[tuple[str, ...], ...]

    @property
    def next_agrees(self) -> bool:
        """Whether one of the first checks gives what the writer accepts, or none was asked for."""
        given = {finding for check in self.next_checks for finding in check}
        return not self.case.next_any or bool(given & set(self.case.next_any))

    @property
    def disagreements(self) -> tuple[str, ...]:
        """Every disagreement of the case in words; none when it agrees in everything."""
        words = [each.words for each in self.lists if not each.agrees]
        words += [f"conflict not named: {key}" for key in self.conflicts_missed]
        words += [f"conflict not expected: {key}" for key in self.conflicts_unexpected]
        if not self.next_agrees:
            accepted = ", ".join(self.case.next_any)
            first = ", ".join(check[0] for check in self.next_checks)
            words.append(f"next: accepted {accepted}; got {first}")
        return tuple(words)


@dataclass(frozen=True, slots=True)
class Agreement:
    """How often the engine agrees over some cases; every count beside what it is out of."""

    cases: int
    cases_agreeing: int
    lists: int
    lists_agreeing: int
    lists_settled_wrongly: int
    conflicts: int
    conflicts_named: int
    conflicts_unexpected: int
    next_asked: int
    next_agreeing: int
    by_case: tuple[CaseAgreement, ...]


def _states(expected: str | list[str]) -> tuple[str, ...]:
    return (expected,) if isinstance(expected, str) else tuple(expected)


def _case(row: _Row) -> Case:
    return Case(
        id=row["id"],
        title=row["title"],
        story=row["story"].strip(),
        kept_apart=row["kept_apart"],
        observed=row["observed"],
        leading={of: _states(expected) for of, expected in row["leading"].items()},
        conflicts=tuple(row["conflicts"]),
        conflicts_may=tuple(row.get("conflicts_may", ())),
        next_any=tuple(row.get("next_any", ())),
    )


@cache
def cases() -> tuple[Case, ...]:
    """The written cases, in the order of the file."""
    rows: list[_Row] = tomllib.loads(CASES.read_text(encoding="utf-8"))["cases"]
    return tuple(_case(row) for row in rows)


def _beside(result: ListResult, expected: tuple[str, ...]) -> ListAgreement:
    return ListAgreement(
        of=result.of,
        expected=expected,
        leading=result.leading,
        probability=result.probability(result.leading),
        settled=result.settled,
    )


def judged(case: Case, weighed: Weighed) -> CaseAgreement:
    """One answer of the engine beside what the case expects."""
    named = [each.key for each in weighed.conflicts]
    welcome = {*case.conflicts, *case.conflicts_may}
    return CaseAgreement(
        case=case,
        lists=tuple(
            _beside(result, case.leading[result.of])
            for result in weighed.lists
            if result.of in case.leading
        ),
        conflicts_missed=tuple(key for key in case.conflicts if key not in named),
        conflicts_unexpected=tuple(key for key in named if key not in welcome),
        next_checks=tuple(each.gives for each in weighed.next_checks[:FIRST_CHECKS]),
    )


@cache
def case_agreement(case_id: str) -> CaseAgreement:
    """What the case of that id came to with the likelihoods as shipped."""
    case = next(each for each in cases() if each.id == case_id)
    return judged(case, evidence_weigh(case.observed))


def agreement_of(judged_cases: Iterable[CaseAgreement]) -> Agreement:
    """The counts over cases that were judged."""
    each_case = tuple(judged_cases)
    lists = [result for each in each_case for result in each.lists]
    conflicts = sum(len(each.case.conflicts) for each in each_case)
    asked = [each for each in each_case if each.case.next_any]
    return Agreement(
        cases=len(each_case),
        cases_agreeing=sum(not each.disagreements for each in each_case),
        lists=len(lists),
        lists_agreeing=sum(each.agrees for each in lists),
        lists_settled_wrongly=sum(each.settled_wrongly for each in lists),
        conflicts=conflicts,
        conflicts_named=conflicts - sum(len(each.conflicts_missed) for each in each_case),
        conflicts_unexpected=sum(len(each.conflicts_unexpected) for each in each_case),
        next_asked=len(asked),
        next_agreeing=sum(each.next_agrees for each in asked),
        by_case=each_case,
    )


def agreement(*, kept_apart: bool) -> Agreement:
    """The agreement over one half of the written cases.

    Answers: how often does the engine come to what a technician who did not know it expects?

    Parameters
    ----------
    kept_apart : bool
        True for the half that nobody tunes to, which alone says how the engine does on new cases.
    """
    return agreement_of(
        case_agreement(each.id) for each in cases() if each.kept_apart is kept_apart
    )

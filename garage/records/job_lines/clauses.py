"""Part a line into clauses: at its stops, and at an `and` between two whole statements."""

from collections.abc import Iterable
from dataclasses import dataclass

from garage.records.job_lines.lexicon import Role
from garage.records.job_lines.marking import Mark

#: Says something by itself, without a thing beside it.
_WHOLE = frozenset({Role.WHOLE, Role.BURN, Role.STATUS, Role.REMOVAL})
_THINGS = frozenset({Role.PART, Role.FITTING, Role.CODES, Role.ECU, Role.AGAIN})


@dataclass(frozen=True)
class Clause:
    """Marks that speak together; `stop` is the sign before them, `end` the one after."""

    marks: tuple[Mark, ...]
    stop: str = ""
    end: str = ""

    def has(self, *roles: Role) -> bool:
        return any(mark.role in roles for mark in self.marks)

    def of(self, *roles: Role) -> list[Mark]:
        return [mark for mark in self.marks if mark.role in roles]


def clauses_of(marks: Iterable[Mark]) -> list[Clause]:
    """The clauses of a line in their order; empty ones are left out."""
    found: list[tuple[str, list[Mark]]] = [("", [])]
    for mark in marks:
        if mark.role is Role.STOP:
            found.append((mark.text, []))
        else:
            found[-1][1].append(mark)
    ends = [stop for stop, _ in found[1:]] + [""]
    clauses = []
    for (stop, part), end in zip(found, ends, strict=True):
        clauses += [
            Clause(tuple(piece), stop if nth == 0 else "and", end)
            for nth, piece in enumerate(_split(part))
        ]
    return [clause for clause in clauses if clause.marks]


def _split(marks: list[Mark]) -> list[list[Mark]]:
    pieces: list[list[Mark]] = [[]]
    for at, mark in enumerate(marks):
        if mark.role is Role.AND and _is_whole(pieces[-1]) and _is_whole(_until_and(marks, at + 1)):
            pieces.append([])
        else:
            pieces[-1].append(mark)
    return pieces


def _until_and(marks: list[Mark], start: int) -> list[Mark]:
    found: list[Mark] = []
    for mark in marks[start:]:
        if mark.role is Role.AND and found:
            break
        found.append(mark)
    return found


def _is_whole(marks: list[Mark]) -> bool:
    """Whether it says what with what, or needs no thing for it."""
    roles = {
        mark.role
        for at, mark in enumerate(marks)
        # "for cleaning" goes on with what was said before.
        if not (mark.role is Role.ACT and at and marks[at - 1].role is Role.OF)
    }
    if roles & _WHOLE or Role.NOT in roles:
        return True
    return bool(roles & _THINGS) and bool(roles & {Role.ACT, Role.SOUND, Role.OFF, Role.FINDING})

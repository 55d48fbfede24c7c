"""The answers to service 01 that are decoded, as typed rows of a table kept as data."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

_FILE = Path(__file__).with_name("table.toml")


@dataclass(frozen=True, slots=True)
class NumberRow:
    """Where a number stands in an answer; the names are explained at the head of the table."""

    item: str
    quantity: str
    unit: str
    kind: str = "measured"
    at: int = 0
    size: int = 2
    times: int = 1
    over: int = 1
    plus: int = 0
    signed: bool = False
    support: int | None = None
    away: int | None = None
    fillers: tuple[int, ...] = ()
    cold: bool = False
    holds: bool = False
    limit: str = ""
    no_scale: bool = False

    @property
    def largest_raw(self) -> int:
        largest: int = 256**self.size - 1
        return largest


@dataclass(frozen=True, slots=True)
class StateRow:
    """Where a state stands in an answer: a byte or one bit of it, and what it then says."""

    item: str
    words: Mapping[int, str]
    at: int = 0
    bit: int | None = None
    support: int | None = None


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """How the answer of one PID is laid out; `lengths` are in data bytes."""

    pid: str
    lengths: tuple[int, ...]
    numbers: tuple[NumberRow, ...]
    states: tuple[StateRow, ...]


@cache
def answer_rows() -> Mapping[str, AnswerRow]:
    """All rows by their PID, two hexadecimal figures.

    Examples
    --------
    >>> answer_rows()["7A"].numbers[0].quantity
    'pressure_across_filter'
    """
    return answer_rows_from(_FILE.read_text(encoding="utf-8"))


def answer_rows_from(text: str) -> Mapping[str, AnswerRow]:
    """Read rows; raises ValueError for one with a name that is not known or bytes it has not.

    Examples
    --------
    >>> told = '''[31]
    ... lengths = [2]
    ... numbers = [{ item = "distance", quantity = "", unit = "km" }]'''
    >>> answer_rows_from(told)["31"].numbers[0].largest_raw
    65535
    """
    return MappingProxyType({pid: _row(pid, row) for pid, row in tomllib.loads(text).items()})


def _row(pid: str, row: dict[str, Any]) -> AnswerRow:
    wrong = set(row) - {each.name for each in fields(AnswerRow)}
    if wrong:
        raise ValueError(f"a row has its own names and no others; {pid} has {', '.join(wrong)}")
    numbers = tuple(_number(pid, each) for each in row.get("numbers", ()))
    states = tuple(_state(pid, each) for each in row.get("states", ()))
    ends = [each.at + each.size for each in numbers] + [each.at + 1 for each in states]
    lengths = tuple(row["lengths"])
    if not ends or max(ends) > max(lengths):
        raise ValueError(f"fields lie within {max(lengths)} data bytes; {pid} has {ends}")
    return AnswerRow(pid, lengths, numbers, states)


def _number(pid: str, row: dict[str, Any]) -> NumberRow:
    wrong = set(row) - {each.name for each in fields(NumberRow)}
    if wrong:
        raise ValueError(f"a number has its own names and no others; {pid} has {', '.join(wrong)}")
    return NumberRow(**{**row, "fillers": tuple(row.get("fillers", ()))})


def _state(pid: str, row: dict[str, Any]) -> StateRow:
    wrong = set(row) - {each.name for each in fields(StateRow)}
    if wrong:
        raise ValueError(f"a state has its own names and no others; {pid} has {', '.join(wrong)}")
    words = MappingProxyType({int(raw): said for raw, said in row["words"].items()})
    return StateRow(**{**row, "words": words})

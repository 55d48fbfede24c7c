"""The words of job lines, read once from their file and checked: each phrase means one thing."""

import tomllib
from collections.abc import Container, Iterator
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache
from pathlib import Path
from typing import Any

from garage.records.choices import LineStatus, OperationKind, System

#: A word of fewer letters has too many neighbours to be what a misspelt one meant.
SHORTEST = 4
_FILE = Path(__file__).parent / "lexicon.toml"


class Role(Enum):
    """What a word does in a line."""

    ACT = auto()
    WHOLE = auto()
    BURN = auto()
    STANDSTILL = auto()
    DRIVING = auto()
    OFF = auto()
    ON = auto()
    STATUS = auto()
    NOT = auto()
    SOUND = auto()
    FINDING = auto()
    COMPLAINT = auto()
    PURPOSE = auto()
    BECAUSE = auto()
    WITH = auto()
    EXCEPT = auto()
    OF = auto()
    AND = auto()
    AGAIN = auto()
    NEW = auto()
    IDLE = auto()
    REMOVAL = auto()
    CODES = auto()
    ECU = auto()
    BEFORE = auto()
    AFTER = auto()
    ORDINAL = auto()
    BANK = auto()
    PART = auto()
    FITTING = auto()
    PLAIN = auto()
    NUMBER = auto()
    POSITION = auto()
    STOP = auto()
    UNKNOWN = auto()


@dataclass(frozen=True)
class Sense:
    """What a phrase means: its role, a code that goes with it, and the system it belongs to."""

    role: Role
    value: str = ""
    system: str = ""


@dataclass(frozen=True)
class Lexicon:
    """`phrases` by their words; `by_first` the same by their first word, the longest first.
    `spelt` are the words a misspelt one may be meant for, in an order that never changes."""

    spellings: dict[str, str]
    phrases: dict[tuple[str, ...], Sense]
    by_first: dict[str, tuple[tuple[str, ...], ...]]
    vocabulary: frozenset[str]
    spelt: tuple[str, ...]


class LexiconInvalid(Exception):
    """The file of words contradicts itself; the message names every fault."""


#: The acts that the joining of words knows; the first row become operations as they are.
ACTS = frozenset(
    {"replace", "inspect", "adjust", "repair", "other"}
    | {"exchange", "remove", "refit", "shift", "clean", "program", "clear"}
)
_ROLES_OF_WORDS = {
    "not": Role.NOT,
    "sound": Role.SOUND,
    "finding": Role.FINDING,
    "complaint": Role.COMPLAINT,
    "purpose": Role.PURPOSE,
    "because": Role.BECAUSE,
    "with": Role.WITH,
    "except": Role.EXCEPT,
    "of": Role.OF,
    "and": Role.AND,
    "again": Role.AGAIN,
    "new": Role.NEW,
    "idle": Role.IDLE,
}


@cache
def lexicon() -> Lexicon:
    """The lexicon; LexiconInvalid if the file is at fault."""
    with _FILE.open("rb") as file:
        return lexicon_made(tomllib.load(file))


def lexicon_made(data: dict[str, Any]) -> Lexicon:
    """The lexicon of a file as read; LexiconInvalid names every fault."""
    phrases: dict[tuple[str, ...], Sense] = {}
    faults = list(_code_faults(data))
    entries = list(_entries(data))
    written = frozenset(word for phrase, _ in entries for word in phrase.split())
    for phrase, sense in entries:
        words = tuple(singular(word, written) for word in phrase.split())
        before = phrases.setdefault(words, sense)
        if before != sense:
            faults.append(f"{phrase!r} is {_told(before)} and {_told(sense)}")
    if faults:
        raise LexiconInvalid("; ".join(faults))
    by_first: dict[str, list[tuple[str, ...]]] = {}
    for words in sorted(phrases, key=len, reverse=True):
        by_first.setdefault(words[0], []).append(words)
    vocabulary = frozenset(word for words in phrases for word in words)
    return Lexicon(
        data["spellings"],
        phrases,
        {first: tuple(found) for first, found in by_first.items()},
        vocabulary,
        tuple(sorted(each for each in vocabulary if len(each) >= SHORTEST and each.isalpha())),
    )


def singular(word: str, known: Container[str]) -> str:
    """The word without the s of a plural, where the word without it is known."""
    return word[:-1] if word.endswith("s") and word[:-1] in known else word


def _entries(data: dict[str, Any]) -> Iterator[tuple[str, Sense]]:
    for act, words in data["acts"].items():
        yield from _each(words, Sense(Role.ACT, act))
    for entry in data["whole"].values():
        sense = Sense(Role.WHOLE, entry["operation"], entry.get("system", ""))
        yield from _each(entry["words"], sense)
    yield from _burn_entries(data["burn"])
    yield from _each(data["place"]["off"], Sense(Role.OFF))
    yield from _each(data["place"]["on"], Sense(Role.ON))
    yield from _each(data["place"]["off_cleans"], Sense(Role.OFF, "clean"))
    for status, words in data["status"].items():
        yield from _each(words, Sense(Role.STATUS, status))
    for name, role in _ROLES_OF_WORDS.items():
        yield from _each(data["words"][name], Sense(role))
    for name, role in (("removal", Role.REMOVAL), ("codes", Role.CODES), ("ecu", Role.ECU)):
        yield from _each(data[name]["words"], Sense(role))
    places = data["positions"]
    yield from _each(places["before"], Sense(Role.BEFORE))
    yield from _each(places["after"], Sense(Role.AFTER))
    yield from _each(places["cylinder"] + places["number"], Sense(Role.ORDINAL))
    yield from _each(places["bank"], Sense(Role.BANK))
    for code, part in data["parts"].items():
        yield from _each(part["words"], Sense(Role.PART, code, part["system"]))
    for system, words in data["others"].items():
        yield from _each(words, Sense(Role.PART, "", system))
    yield from _each(data["fittings"]["words"], Sense(Role.FITTING))
    yield from _each(data["plain"]["words"], Sense(Role.PLAIN))


def _burn_entries(burn: dict[str, list[str]]) -> Iterator[tuple[str, Sense]]:
    yield from _each(burn["words"], Sense(Role.BURN))
    yield from _each(
        burn["standstill_whole"], Sense(Role.BURN, OperationKind.REGENERATE_STATIONARY)
    )
    yield from _each(burn["driving_whole"], Sense(Role.BURN, OperationKind.REGENERATE_DRIVING))
    yield from _each(burn["standstill"], Sense(Role.STANDSTILL))
    yield from _each(burn["driving"], Sense(Role.DRIVING))
    yield from _each(burn["broken_off"], Sense(Role.PLAIN))


def _each(words: list[str], sense: Sense) -> Iterator[tuple[str, Sense]]:
    for phrase in words:
        yield phrase, sense


def _code_faults(data: dict[str, Any]) -> Iterator[str]:
    """Codes that the records do not have."""
    systems = {*data["others"], *(part["system"] for part in data["parts"].values())}
    systems |= {entry.get("system", "") for entry in data["whole"].values()}
    for names, known, of in (
        (data["acts"], ACTS, "an act"),
        (data["status"], LineStatus.values, "a status"),
        ({entry["operation"] for entry in data["whole"].values()}, OperationKind.values, "a kind"),
        (systems - {""}, System.values, "a system"),
    ):
        yield from (f"{name!r} is not {of}" for name in names if name not in known)


def _told(sense: Sense) -> str:
    return " ".join(filter(None, (sense.role.name.lower(), sense.value, sense.system)))

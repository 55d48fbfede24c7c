"""What a trouble code says in short words, its group, and which groups come first."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

_FILE = Path(__file__).with_name("meanings.toml")
_NONE: Mapping[str, "Meaning"] = MappingProxyType({})
#: Loading is a consequence while one of these stands open (common practice, no source).
FIRST_TO_FIX = ("sensor", "temperature", "air", "recirculation", "fuel", "thermal")
_CONSEQUENCE = "loading"


@dataclass(frozen=True, slots=True)
class Meaning:
    """Short words of a code, its group, and who says so."""

    code: str
    words: str
    group: str
    source: str


@dataclass(frozen=True, slots=True)
class Order:
    """Which groups to put right first, and which are taken for their consequence."""

    first: tuple[str, ...]
    consequence: tuple[str, ...]
    words: str


def meaning_of(code: str, own: Mapping[str, Meaning] = _NONE) -> Meaning | None:
    """What does this code say?

    Parameters
    ----------
    code : str
        As printed without a failure type: ``P2463``, or ``3251/0`` for SPN and FMI.
    own : mapping of code to Meaning
        An organisation's own words, which take the place of those shipped.

    Returns
    -------
    Meaning or None
        None where nothing is known of it here: no statement about the vehicle.

    Examples
    --------
    >>> meaning_of("P2463").group, meaning_of("3251/4").group, meaning_of("P1999") is None
    ('loading', 'sensor', True)
    """
    if code in own:
        return own[code]
    return _shipped().get(code) or _shipped().get(code.split("/", maxsplit=1)[0])


def shipped_meanings() -> Mapping[str, Meaning]:
    """Every code that is known here, by group as listed; an SPN stands without its FMI where that
    does not change what it tells of.

    Examples
    --------
    >>> shipped_meanings()["P2463"].words
    'filter restricted, soot'
    """
    return MappingProxyType(_shipped())


def speaks_of_ash(code: str) -> bool:
    """Whether a code of loading speaks of ash alone; of an SPN whatever the FMI.

    Examples
    --------
    >>> speaks_of_ash("P242F"), speaks_of_ash("3720/15"), speaks_of_ash("P2463")
    (True, True, False)
    """
    return code.split("/", maxsplit=1)[0] in _read()["ash"]


def groups() -> Mapping[str, str]:
    """Every group with its title."""
    return MappingProxyType(dict(_read()["groups"]))


def grouped(codes: Iterable[str], own: Mapping[str, Meaning] = _NONE) -> dict[str, list[str]]:
    """The codes by group, each group in the order of its first code; unknown codes stand under
    an empty group.

    Examples
    --------
    >>> grouped(["P2463", "P0401", "P244B", "P1999"])
    {'loading': ['P2463', 'P244B'], 'recirculation': ['P0401'], '': ['P1999']}
    """
    found: dict[str, list[str]] = {}
    for code in codes:
        meaning = meaning_of(code, own)
        found.setdefault("" if meaning is None else meaning.group, []).append(code)
    return found


def first_to_fix(present: Iterable[str]) -> Order:
    """Which of these groups come first?

    A sensor, air, recirculation, fuel or thermal code present with one of loading makes loading
    its consequence until the other is put right (common practice, no source).

    Examples
    --------
    >>> first_to_fix(["loading", "recirculation"]).consequence
    ('loading',)
    """
    here = set(present)
    first = tuple(each for each in FIRST_TO_FIX if each in here)
    if first and _CONSEQUENCE in here:
        named = " and ".join(groups()[each] for each in first)
        return Order(
            first,
            (_CONSEQUENCE,),
            f"put right {named} first: loading is taken for its consequence until then",
        )
    return Order(first, (), "")


@cache
def _read() -> dict[str, Any]:
    return tomllib.loads(_FILE.read_text("utf-8"))


@cache
def _shipped() -> dict[str, Meaning]:
    read = _read()
    listed = [(group, codes, read["source"]) for group, codes in read["codes"].items()]
    listed += [(group, spns, read["spn_source"]) for group, spns in read["spns"].items()]
    unknown = {group for group, _, _ in listed} - set(read["groups"])
    if unknown:
        raise ValueError(f"a group of codes has a title; got {', '.join(sorted(unknown))}")
    found: dict[str, Meaning] = {}
    for group, codes, source in listed:
        for code, words in codes.items():
            if code in found:
                raise ValueError(f"a code stands in one group; {code} came twice")
            found[code] = Meaning(code, words, group, source)
    return found

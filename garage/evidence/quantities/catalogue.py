"""Every quantity that can be read: its unit, its plausible range, and its figures for no value."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from garage.evidence.quantities.units import Dimension, Unit, converted, unit_of
from garage.evidence.thresholds import Basis

_FILE = Path(__file__).with_name("quantities.toml")
#: How a value came about, the words of a reading's kind.
KINDS = ("measured", "modelled", "commanded")
_MUST = {"title", "dimension", "unit", "least", "most", "basis", "why", "kinds"}
_MAY = {"unit_goes_unsaid", "fillers", "holds_at", "counts"}


class Counting(StrEnum):
    """Whether a figure only rises, and until when."""

    NOT = ""
    RISING = "rising"
    UNTIL_RESET = "until reset"


@dataclass(frozen=True, slots=True)
class Filler:
    """A figure that stands for "no value"; without a unit it is met as a bare figure."""

    value: Decimal
    unit: Unit | None
    says: str


@dataclass(frozen=True, slots=True)
class Quantity:
    """A thing that can be read.

    Attributes
    ----------
    key, title : str
        Its name in data, and in the trade's words.
    unit : Unit
        What it is kept in.
    unit_goes_unsaid : bool
        Whether it has one unit everywhere, so that a bare figure is in it.
    least, most : Fraction
        In `unit`: beyond these a figure was most likely typed wrongly.
    basis, why : Basis, str
        How far that range can be trusted, and what it rests on.
    kinds : tuple of str
        Ways in which a value may come about, the usual one in front.
    fillers : tuple of Filler
    holds_at : Fraction or None
        In `unit`: where a counter stops, and reads as "at least".
    counts : Counting
    """

    key: str
    title: str
    unit: Unit
    unit_goes_unsaid: bool
    least: Fraction
    most: Fraction
    basis: Basis
    why: str
    kinds: tuple[str, ...]
    fillers: tuple[Filler, ...]
    holds_at: Fraction | None
    counts: Counting

    @property
    def dimension(self) -> Dimension:
        return self.unit.dimension

    @property
    def default_kind(self) -> str:
        return self.kinds[0]

    @property
    def may_be_negative(self) -> bool:
        return self.least < 0

    def allows(self, value: Fraction) -> bool:
        """Whether a value in `unit` is plausible."""
        return self.least <= value <= self.most


@cache
def quantities() -> Mapping[str, Quantity]:
    """All quantities by their key.

    Examples
    --------
    >>> quantities()["exhaust_flow"].unit.symbol
    'kg/h'
    """
    return quantities_from(_FILE.read_text(encoding="utf-8"))


def quantity(key: str) -> Quantity:
    """The quantity of that name; raises ValueError for one that is not known.

    Examples
    --------
    >>> quantity("coolant_temperature").title
    'coolant temperature'
    """
    found = quantities().get(key)
    if found is None:
        known = ", ".join(quantities())
        raise ValueError(f"a quantity is one of {known}; got `{key}`. Look its name up there")
    return found


def quantities_from(text: str) -> Mapping[str, Quantity]:
    """Read quantities; raises ValueError for one that does not hold together.

    Examples
    --------
    >>> told = '''[speed]
    ... title = "speed"
    ... dimension = "rotation"
    ... unit = "rpm"
    ... least = 0
    ... most = 6000
    ... basis = "judgement"
    ... why = "as an example"
    ... kinds = ["measured"]'''
    >>> quantities_from(told)["speed"].most
    Fraction(6000, 1)
    """
    data = tomllib.loads(text, parse_float=Decimal)
    return MappingProxyType({key: _quantity(key, row) for key, row in data.items()})


def _quantity(key: str, row: dict[str, Any]) -> Quantity:
    if not _MUST <= set(row) <= _MUST | _MAY:
        wrong = ", ".join(sorted((_MUST - set(row)) | (set(row) - _MUST - _MAY)))
        raise ValueError(f"a quantity has its own names and no others; `{key}` differs in {wrong}")
    unit = _unit(key, row["unit"], Dimension(row["dimension"]))
    least, most = Fraction(row["least"]), Fraction(row["most"])
    if not least < most:
        raise ValueError(f"a range rises from least to most; `{key}` has {least} to {most}")
    kinds = tuple(row["kinds"])
    if not kinds or len(set(kinds)) != len(kinds) or not set(kinds) <= set(KINDS):
        raise ValueError(f"kinds are some of {', '.join(KINDS)}, each once; `{key}` has {kinds}")
    holds_at = None if "holds_at" not in row else Fraction(row["holds_at"])
    if holds_at is not None and holds_at != most:
        raise ValueError(f"a counter's range ends where it holds; `{key}` holds at {holds_at}")
    if not row["title"] or not row["why"]:
        raise ValueError(f"a quantity has a title and a range with its reason; `{key}` lacks one")
    fillers = tuple(_filler(key, each, unit) for each in row.get("fillers", ()))
    if any(holds_at == _in(unit, each) for each in fillers if holds_at is not None):
        raise ValueError(f"where a counter holds is no filler; `{key}` has both at {holds_at}")
    return Quantity(
        key=key,
        title=row["title"],
        unit=unit,
        unit_goes_unsaid=row.get("unit_goes_unsaid", False),
        least=least,
        most=most,
        basis=Basis(row["basis"]),
        why=row["why"],
        kinds=kinds,
        fillers=fillers,
        holds_at=holds_at,
        counts=Counting(row.get("counts", "")),
    )


def _filler(key: str, row: dict[str, str], unit: Unit) -> Filler:
    of = _unit(key, row["unit"], unit.dimension) if row["unit"] else None
    return Filler(Decimal(row["value"]), of, row["says"])


def _in(unit: Unit, filler: Filler) -> Fraction | None:
    return None if filler.unit is None else converted(filler.value, filler.unit, unit)


def _unit(key: str, text: str, dimension: Dimension) -> Unit:
    unit = unit_of(text, dimension)
    if unit is None:
        raise ValueError(f"a unit is one of {dimension} that is known; `{key}` has `{text}`")
    return unit

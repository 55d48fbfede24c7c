"""One measured value held against its thresholds, said in words."""

from dataclasses import dataclass

from garage.evidence.thresholds import Threshold, Thresholds


@dataclass(frozen=True, slots=True)
class Held:
    """A threshold that a value was held against, and where it is from."""

    key: str
    title: str
    value: float
    unit: str
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class Grade:
    """What a measured value says.

    Attributes
    ----------
    finding : str
    state : str or None
        None where it is not known; `words` says why.
    words : str
        The numbers and the threshold in words.
    held : tuple of Held
    """

    finding: str
    state: str | None
    words: str
    held: tuple[Held, ...] = ()


def held_of(limits: Thresholds, *keys: str) -> tuple[Held, ...]:
    """The named thresholds as they hold here."""
    return tuple(_held(limits.told(key)) for key in keys)


def edge_words(value: float, limit: float, limits: Thresholds) -> str:
    """A remark where a value lies within the edge of a limit; else empty."""
    near = abs(value - limit) <= limits["pressure_edge_share"] * abs(limit)
    return f"; at the edge of {limit:g} mbar" if near else ""


def _held(told: Threshold) -> Held:
    return Held(told.key, told.title, told.value, told.unit, told.basis.words, told.source)

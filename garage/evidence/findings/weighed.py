"""What the evidence comes to: the answer in a form that pages and other programs can print."""

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.findings.conflicts import Conflict
from garage.evidence.findings.next_check import NextCheck

Plain = None | bool | int | float | str | list["Plain"] | dict[str, "Plain"]


class Settled(StrEnum):
    """Whether a list is told."""

    SETTLED = "settled"
    OPEN = "cannot be told yet"
    HELD = "held by a conflict"


@dataclass(frozen=True, slots=True)
class Effect:
    """What one finding does to one state, given all the other findings.

    Attributes
    ----------
    ratio : float
        By how much the finding multiplies the state's probability: above 1 for, below 1 against.
    words : str
        The finding and its state in the trade's words.
    """

    finding: str
    state: str
    ratio: float
    words: str


@dataclass(frozen=True, slots=True)
class StateWeight:
    """One state of a list with its probability and what speaks for and against it."""

    state: str
    words: str
    probability: float
    prior: float
    speaks_for: tuple[Effect, ...]
    against: tuple[Effect, ...]


@dataclass(frozen=True, slots=True)
class ListResult:
    """One list, most probable state first; its probabilities add to 1.

    Attributes
    ----------
    status : Settled
    reason : str
        Why it is settled, open or held.
    parted_by : str or None
        The check that would best part the two leading states, where one is left.
    """

    of: str
    states: tuple[StateWeight, ...]
    status: Settled
    reason: str
    parted_by: str | None

    @property
    def leading(self) -> str:
        """The most probable state, settled or not."""
        return self.states[0].state

    @property
    def settled(self) -> str | None:
        """The state that is settled, or None while it cannot be told."""
        return self.leading if self.status is Settled.SETTLED else None

    def probability(self, state: str) -> float:
        """The probability of one state."""
        return next(each.probability for each in self.states if each.state == state)


@dataclass(frozen=True, slots=True)
class Weighed:
    """The whole answer: three lists, conflicts, what to check next, what cannot be told."""

    sensing: ListResult
    filter: ListResult
    upstream: ListResult
    conflicts: tuple[Conflict, ...]
    next_checks: tuple[NextCheck, ...]
    cannot_tell: tuple[str, ...]
    observed: tuple[tuple[str, str], ...]

    @property
    def lists(self) -> tuple[ListResult, ListResult, ListResult]:
        return (self.sensing, self.filter, self.upstream)


def as_plain(value: object) -> Plain:
    """The same as lists, tables, texts and numbers that JSON can hold.

    Raises ValueError for a number that is not finite, and TypeError for what JSON cannot hold.

    Examples
    --------
    >>> as_plain(Effect("zero", "large", 2.0, "far off zero"))["ratio"]
    2.0
    """
    if isinstance(value, StrEnum):
        return value.value
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"a number that is not known is None with a reason; got {value}")
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: as_plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): as_plain(each) for key, each in value.items()}
    if isinstance(value, frozenset | set):
        return [as_plain(each) for each in sorted(value)]
    if isinstance(value, Sequence):
        return [as_plain(each) for each in value]
    raise TypeError(f"JSON holds texts, numbers, lists and tables; got {type(value).__name__}")

"""What a gate is: open, shut, unknown until a named check, or not reached."""

from dataclasses import dataclass
from enum import StrEnum


class Way(StrEnum):
    OPEN = "open"
    SHUT = "shut"
    UNKNOWN = "unknown until checked"
    NOT_REACHED = "not reached"


@dataclass(frozen=True, slots=True)
class Gate:
    """One gate.

    Attributes
    ----------
    reason : str
        Why it is so, in words.
    opens : str
        What opens it; empty where it is open.
    checks : tuple of str
        The findings that would tell, where it is unknown.
    """

    key: str
    title: str
    way: Way
    reason: str
    opens: str = ""
    checks: tuple[str, ...] = ()

    @property
    def is_open(self) -> bool:
        return self.way is Way.OPEN

    @property
    def is_reached(self) -> bool:
        """Whether no gate before it bars it; where one does, what opens that one is its own too,
        and is told to people once, there."""
        return self.way is not Way.NOT_REACHED


@dataclass(frozen=True, slots=True)
class Gates:
    """All gates in order, what may be done, and what must be told.

    Attributes
    ----------
    may : tuple of str
        Keys of the actions that are open: burn, clean, replace, clear.
    cold_removal : bool
        Whether the filter may be taken off cold; the oil level does not stop that.
    procedures : tuple of str
        Whose cautions come before what is open.
    notices : tuple of str
        Law, and what a clear is and is not.
    """

    gates: tuple[Gate, ...]
    may: tuple[str, ...]
    cold_removal: bool
    cold_removal_reason: str
    procedures: tuple[str, ...]
    notices: tuple[str, ...]

    def gate(self, key: str) -> Gate:
        """The gate of that name."""
        for each in self.gates:
            if each.key == key:
                return each
        raise ValueError(f"a gate is one of {', '.join(g.key for g in self.gates)}; got `{key}`")


def not_reached(key: str, title: str, before: Gate) -> Gate:
    """A gate that lies behind one that is shut or unknown."""
    how = "is shut" if before.way is Way.SHUT else "is not known"
    return Gate(key, title, Way.NOT_REACHED, f"{before.title} {how}", before.opens, before.checks)

"""The words of the evidence: states that are asked about, and findings that speak of them."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

LISTS = ("sensing", "filter", "upstream")
NEEDS = (
    "pressure_hoses",
    "engine_running",
    "road_drive",
    "burn",
    "hot_exhaust",
    "filter_removal",
)
_HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Finding:
    """A thing that a technician may find, how, and what may come of it.

    Attributes
    ----------
    key, title, check : str
        Its name in data, in the trade's words, and what is done to get it.
    minutes : float
        What the check takes (common practice, no source).
    needs : str or None
        The procedure whose cautions come before it.
    states : tuple of (str, str)
        State and its words, in order.
    """

    key: str
    title: str
    check: str
    minutes: float
    needs: str | None
    states: tuple[tuple[str, str], ...]

    def words(self, state: str) -> str:
        """The state in words; raises ValueError for one that this finding does not have."""
        for key, words in self.states:
            if key == state:
                return words
        known = ", ".join(key for key, _ in self.states)
        raise ValueError(f"`{self.key}` has the states {known}; got `{state}`")


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Everything that may be asked or found."""

    lists: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    findings: tuple[Finding, ...]

    def states(self, of: str) -> tuple[str, ...]:
        """The states of a list, in order."""
        return tuple(key for key, _ in self._list(of))

    def state_words(self, of: str, state: str) -> str:
        """What a state of a list is called."""
        return dict(self._list(of))[state]

    def finding(self, key: str) -> Finding:
        """The finding of that name; raises ValueError for one that is not known."""
        for each in self.findings:
            if each.key == key:
                return each
        raise ValueError(
            f"a finding is one of the vocabulary's; got `{key}`. Look its name up there"
        )

    def keys(self) -> frozenset[str]:
        """The names of all findings."""
        return frozenset(each.key for each in self.findings)

    def checked(self, observed: Mapping[str, str]) -> dict[str, str]:
        """The same findings in the vocabulary's order, all known; raises ValueError otherwise."""
        for key, state in observed.items():
            self.finding(key).words(state)
        return {each.key: observed[each.key] for each in self.findings if each.key in observed}

    def _list(self, of: str) -> tuple[tuple[str, str], ...]:
        for name, states in self.lists:
            if name == of:
                return states
        raise ValueError(f"a list is one of {', '.join(LISTS)}; got `{of}`")


def vocabulary_from(text: str) -> Vocabulary:
    """Read a vocabulary, refusing what does not hold together.

    Raises
    ------
    ValueError
        For a list without two states, a finding without two, minutes not above 0, or a procedure
        that is not known.

    Examples
    --------
    >>> vocabulary().finding("zero").words("large")
    'far off zero'
    """
    data = tomllib.loads(text)
    unknown = set(data) - {*LISTS, "findings"}
    if unknown or not {*LISTS, "findings"} <= set(data):
        raise ValueError(
            f"a vocabulary holds {', '.join(LISTS)} and findings; got {', '.join(data)}"
        )
    lists = tuple((name, _states(name, data[name])) for name in LISTS)
    findings = tuple(_finding(key, row) for key, row in data["findings"].items())
    checks: dict[str, tuple[float, str | None]] = {}
    for each in findings:
        same = checks.setdefault(each.check, (each.minutes, each.needs))
        if same != (each.minutes, each.needs):
            raise ValueError(f"one check takes one time and one procedure; `{each.check}` has two")
    return Vocabulary(lists, findings)


@cache
def vocabulary() -> Vocabulary:
    """The vocabulary that is shipped."""
    return vocabulary_from((_HERE / "vocabulary.toml").read_text(encoding="utf-8"))


def _states(name: str, row: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    states = tuple((key, words) for key, words in row.items())
    if len(states) < 2 or not all(key.isidentifier() and words for key, words in states):
        raise ValueError(f"`{name}` needs two or more states, each with words; got {states}")
    if len({words for _, words in states}) != len(states):
        raise ValueError(f"the states of `{name}` need words that differ; got {states}")
    return states


def _finding(key: str, row: Mapping[str, object]) -> Finding:
    known = {"title", "check", "minutes", "needs", "states"}
    if set(row) - known or not known - {"needs"} <= set(row):
        raise ValueError(
            f"a finding holds {', '.join(sorted(known))}; `{key}` holds {', '.join(row)}"
        )
    minutes, needs, states = row["minutes"], row.get("needs"), row["states"]
    if not isinstance(minutes, int | float) or minutes <= 0:
        raise ValueError(f"minutes are above 0; `{key}` has {minutes}")
    if needs is not None and needs not in NEEDS:
        raise ValueError(f"a procedure is one of {', '.join(NEEDS)}; `{key}` needs {needs}")
    if not isinstance(states, dict):
        raise ValueError(f"`{key}` needs a table of states; got {states}")
    return Finding(
        key=key,
        title=str(row["title"]),
        check=str(row["check"]),
        minutes=float(minutes),
        needs=None if needs is None else str(needs),
        states=_states(key, states),
    )

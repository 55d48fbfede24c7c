"""What is checked before information a minute counts: conflicts, trust in the sensing, proofs."""

import tomllib
from collections.abc import Collection, Mapping
from functools import cache
from pathlib import Path

from garage.evidence.findings.conflicts import Conflict
from garage.evidence.findings.vocabulary import LISTS, Vocabulary, vocabulary
from garage.evidence.findings.weighed import ListResult

_HERE = Path(__file__).parent
_TRUST = ("response", "hoses")
_REMARKABLE = ("very_low", "upper", "high", "very_high")


def first_checks(
    observed: Mapping[str, str],
    conflicts: tuple[Conflict, ...],
    lists: Collection[ListResult],
    confirm_share: float,
    read: Collection[str] = (),
) -> tuple[tuple[str, str], ...]:
    """Checks that come first, in order, each with why.

    Answers: what is to be done before money is spent, however little it may tell on average? First
    the zero where a pressure was read without it; then what open conflicts ask for; then the rest
    of the gate of trust in the sensing, where the pressure is not usual; then the check that shows
    directly what so far only leads. Order: gates and common practice, no source. `read` names what
    was read, graded or not.

    Examples
    --------
    >>> first_checks({"zero": "within", "raised_pressure": "high"}, (), (), 0.6)[0][0]
    'response'
    """
    first: list[tuple[str, str]] = []
    if any(key.endswith("_pressure") for key in {*observed, *read}):
        first.append(("zero", "comes first: no pressure is graded before the zero is read"))
    first += [
        (check, f"comes first: {conflict.title}")
        for conflict in conflicts
        for check in conflict.checks_left
    ]
    if observed.get("raised_pressure") in _REMARKABLE:
        why = "comes early: no filter decision before the sensing is trusted"
        first += [(key, why) for key in _TRUST]
    for result in lists:
        proof = proofs()[result.of].get(result.leading)
        if proof is not None and result.states[0].probability >= confirm_share:
            words = result.states[0].words
            first.append((proof, f"comes early: shows it directly before money is spent: {words}"))
    return tuple(each for each in first if each[0] not in observed)


@cache
def proofs() -> Mapping[str, Mapping[str, str]]:
    """For each list, the finding that shows a state directly."""
    return proofs_from((_HERE / "proofs.toml").read_text(encoding="utf-8"), vocabulary())


def proofs_from(text: str, words: Vocabulary) -> Mapping[str, Mapping[str, str]]:
    """Read proofs; raises ValueError for a list, state or finding that is not known."""
    data: dict[str, dict[str, str]] = tomllib.loads(text)
    if set(data) != set(LISTS):
        raise ValueError(f"proofs are given for {', '.join(LISTS)}; got {', '.join(data)}")
    for of, row in data.items():
        # The first state of each list asks for no repair.
        if set(row) != set(words.states(of)[1:]):
            raise ValueError(f"each fault of `{of}` needs a proof; got {', '.join(row)}")
        for finding in row.values():
            words.finding(finding)
    return data

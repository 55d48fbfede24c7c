"""The evidence of one visit as lines for the terminal."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from garage.evidence.findings.conflicts import Conflict, Kind
from garage.evidence.findings.gate import Gate
from garage.evidence.findings.procedures import procedure
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.findings.weighed import ListResult
from garage.evidence.visit.table import LineUnused
from garage.evidence.visit.weighing import Evidence
from garage.records.choices import EvidenceList

#: What is far less likely, or tells far less, is left out. Judgement.
STATES_SHOWN = 4
CHECKS_SHOWN = 5
#: Below it a share is printed as "< 1 %".
_LEAST = 0.005
_WIDTH = 96


def evidence_lines(evidence: Evidence, unused: Sequence[LineUnused]) -> Iterator[str]:
    """What the evidence of a visit says, and the lines that went into nothing, in words."""
    for each in evidence.weighed.lists:
        yield from _list_lines(each)
    yield from _wrapped(
        "The lists do not exclude each other. The chances rest on common practice and judgement; "
        "the technician decides."
    )
    contradicting = [e for e in evidence.weighed.conflicts if e.kind is Kind.CONFLICT]
    agreeing = [e for e in evidence.weighed.conflicts if e.kind is Kind.AGREEMENT]
    yield from _part("What contradicts itself", map(_conflict_words, contradicting))
    yield from _part("What agrees", map(_conflict_words, agreeing))
    yield from _part("Readings that cannot all be true", map(str, evidence.at_odds))
    yield from _part("What to put right first", filter(None, [evidence.order.words]))
    checks = evidence.weighed.next_checks[:CHECKS_SHOWN]
    yield from _part(
        "What to check next",
        (
            f"{each.check} ({each.minutes:g} min, {each.bits:.2f} bit). {_sentence(each.reason)}"
            for each in checks
        ),
        numbered=True,
    )
    needed = dict.fromkeys([e.needs for e in checks if e.needs] + list(evidence.gates.procedures))
    for key in needed:
        yield from _part(f"Before the step: {procedure(key).title}", procedure(key).cautions)
    if needed:
        yield from _wrapped(procedure(next(iter(needed))).deference)
    yield from _part("What may be done, in order", map(_gate_words, evidence.gates.gates), True)
    yield from _part("To be told", evidence.gates.notices)
    yield from _part("What this evidence cannot tell", evidence.weighed.cannot_tell)
    yield from _part("What went in", _observed_words(evidence))
    yield from _part("Not used", _unused_words(evidence, unused))


def _list_lines(result: ListResult) -> Iterator[str]:
    leading = result.states[0].words if result.settled is not None else "cannot be told yet"
    yield from _wrapped(f"{_sentence(str(EvidenceList(result.of).label), end='')}: {leading}")
    yield from _wrapped(_sentence(result.reason), indent=2)
    for each in result.states[:STATES_SHOWN]:
        chance = f"{100 * each.probability:3.0f} %" if each.probability >= _LEAST else "< 1 %"
        yield from _wrapped(f"{chance}  {each.words}", indent=2, hang=7)
        for name, effects in (("for it", each.speaks_for), ("against it", each.against)):
            if effects:
                told = "; ".join(effect.words for effect in effects)
                yield from _wrapped(f"{name}: {told}", indent=9)
    yield ""


def _part(title: str, said: Iterable[str], numbered: bool = False) -> Iterator[str]:
    lines = list(said)
    if lines:
        yield ""
        yield title
    for number, each in enumerate(lines, start=1):
        sign = f"{number}." if numbered else "-"
        yield from _wrapped(f"{sign} {each}", indent=2, hang=len(sign) + 1)


def _conflict_words(conflict: Conflict) -> str:
    told = f"{_sentence(conflict.title)} Most likely: {conflict.reading}."
    checks = [*conflict.checks_left, *conflict.checks_waiting]
    if checks:
        first = "; ".join(vocabulary().finding(each).check for each in checks)
        told += f" Do first: {first}."
    return told


def _gate_words(gate: Gate) -> str:
    told = f"{gate.title}: {gate.way.value}. {_sentence(gate.reason)}"
    return f"{told} Opens by: {gate.opens}." if gate.opens and gate.is_reached else told


def _observed_words(evidence: Evidence) -> Iterator[str]:
    words = vocabulary()
    if not evidence.observed:
        yield "nothing: the chances above are those before anything is found"
    graded = {each.finding: each.words for each in evidence.grades if each.state is not None}
    for key, state in words.checked(evidence.observed).items():
        finding = words.finding(key)
        because = f" ({graded[key]})" if key in graded else ""
        yield f"{finding.title}: {finding.words(state)}{because}"
    for each in evidence.ungraded:
        yield f"{words.finding(each.finding).title}: tells nothing yet, {each.words}"


def _unused_words(evidence: Evidence, unused: Sequence[LineUnused]) -> Iterator[str]:
    for each in unused:
        yield f"line {each.line}: {each.what}: {each.reason}"
    for other in evidence.unused:
        yield f"{other.what}: {other.reason}"


def _sentence(words: str, end: str = ".") -> str:
    told = words[:1].upper() + words[1:]
    return told if told.endswith((".", "?")) else f"{told}{end}"


def _wrapped(words: str, *, indent: int = 0, hang: int = 0) -> list[str]:
    return textwrap.wrap(
        words,
        _WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    )

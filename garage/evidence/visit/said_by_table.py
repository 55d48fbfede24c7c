"""From a table of one visit to what is said of it, and which of its lines go into nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from garage.evidence.codes.line import parse_line
from garage.evidence.findings.measured import Measured
from garage.evidence.quantities.catalogue import quantity
from garage.evidence.visit.at_odds import readings_at_odds
from garage.evidence.visit.measured_of import numbers_taken
from garage.evidence.visit.said import CodeSaid, Unused, VisitSaid
from garage.evidence.visit.table import LineReading, LineUnused, VisitTable


@dataclass(frozen=True, slots=True)
class TableVisit:
    """One phase of a table as the weighing takes it, and the lines that go into nothing.

    What the weighing itself cannot use it tells with its line in words.
    """

    said: VisitSaid
    unused: tuple[LineUnused, ...]


def table_visit(table: VisitTable, *, phase: str, codes: Sequence[str] = ()) -> TableVisit:
    """Answer what a table and codes say of one phase.

    Parameters
    ----------
    table : VisitTable
    phase : str
        Readings and findings of other phases are told as unused, but sizes of the filter hold
        whenever they were read.
    codes : sequence of str
        Each a line of codes as typed: ``P2463, P244B pend.``

    Examples
    --------
    >>> from garage.evidence.visit.table import visit_table_read
    >>> table = visit_table_read("quantity,value,unit\\nsoot_mass,31,g\\nboost_pressure,9,bar\\n")
    >>> visit = table_visit(table, phase="arrival")
    >>> len(visit.said.readings), [each.line for each in table.unused]
    (1, [3])
    """
    here = [each for each in table.readings if each.phase == phase]
    readings = tuple(each.said for each in here)
    lines = [parse_line(each) for each in codes]
    printed = [each.code.printed.split("-")[0] for line in lines for each in line.codes]
    found = {each.finding: each for each in table.findings if each.phase == phase}
    said = VisitSaid(
        readings=readings,
        lasting=tuple(each.said for each in table.readings),
        codes=tuple(CodeSaid(each) for each in dict.fromkeys(printed)),
        unread=tuple(Unused(each.written, each.reason) for line in lines for each in line.unread),
        findings={key: each.state for key, each in found.items()},
        at_odds=readings_at_odds(readings),
    )
    unused = [*table.unused, *_other_phases(table, phase, said), *_idle(here, said)]
    unused += [
        LineUnused(
            each.line,
            f"{each.finding} {each.state}",
            f"line {found[each.finding].line} says it anew, and holds",
        )
        for each in table.findings
        if each.phase == phase and found[each.finding] is not each
    ]
    return TableVisit(said, tuple(sorted(unused, key=lambda each: each.line)))


def _other_phases(table: VisitTable, phase: str, said: VisitSaid) -> list[LineUnused]:
    told = [
        (each.line, _what(each), each.phase)
        for each in table.readings
        if each.phase != phase and not _counts_alone(replace(said, readings=()), each)
    ]
    told += [
        (each.line, f"{each.finding} {each.state}", each.phase)
        for each in table.findings
        if each.phase != phase
    ]
    return [
        LineUnused(line, what, f"of another phase; --phase {of} weighs it")
        for line, what, of in told
    ]


def _idle(here: Sequence[LineReading], said: VisitSaid) -> list[LineUnused]:
    """Readings that change nothing: of a thing that is not weighed, or said anew further on.

    Found by leaving each out, so that no list of what is weighed has to be kept beside the
    weighing. What it cannot use for want of a unit or condition it tells itself.
    """
    taken = numbers_taken(said)
    refused = {each.what for each in taken.unused}
    told = []
    for number, each in enumerate(here):
        name = each.said.quantity.replace("_", " ")
        if f"{name} {each.said.typed}" in refused or _is_held_against(said, each):
            continue
        again = _again(each, here[number + 1 :])
        if not _counts_alone(replace(said, readings=(each.said,)), each):
            reason = f"{quantity(each.said.quantity).title} is not weighed here"
            told.append(LineUnused(each.line, _what(each), reason))
        elif again is not None and _measured_without(said, each) == taken.measured:
            reason = f"line {again.line} reads the same thing again, and holds"
            told.append(LineUnused(each.line, _what(each), reason))
    return told


def _again(reading: LineReading, later: Sequence[LineReading]) -> LineReading | None:
    """The last known reading of the same thing further on, of the same condition if there is."""
    known = [
        each
        for each in later
        if each.said.quantity == reading.said.quantity and each.said.standard_value is not None
    ]
    alike = [each for each in known if each.said.condition == reading.said.condition]
    return next(reversed(alike or known), None)


def _counts_alone(said: VisitSaid, reading: LineReading) -> bool:
    """Whether a reading would be weighed if no other were there."""
    alone = replace(said, lasting=(reading.said,))
    nothing = replace(said, readings=(), lasting=())
    return numbers_taken(alone).measured != numbers_taken(nothing).measured


def _measured_without(said: VisitSaid, reading: LineReading) -> Measured:
    readings, lasting = (
        tuple(each for each in listed if each is not reading.said)
        for listed in (said.readings, said.lasting)
    )
    return numbers_taken(replace(said, readings=readings, lasting=lasting)).measured


def _is_held_against(said: VisitSaid, reading: LineReading) -> bool:
    others = [each for each in said.readings if each is not reading.said]
    return readings_at_odds(others) != said.at_odds


def _what(reading: LineReading) -> str:
    return f"{reading.said.quantity} {reading.said.typed.rpartition(' (line')[0]}"

"""Which column of a table is which of ours: ranked, with reasons, for a person to confirm."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from garage.records.importing.columns import FILE_KINDS, Column, FileKind
from garage.records.tabular.column_content import Content, content_judge, is_told, units_proven
from garage.records.tabular.evidence import Evidence
from garage.records.tabular.header_match import header_match
from garage.records.tabular.line_column import JOB_LINE, columns_of

#: From here on a column is proposed; below it, it is only listed: judgement.
PROPOSED_FROM = 0.5
#: A name that fits over cells that do not: more likely another thing of the same name: judgement.
CONTRADICTED = 0.4
#: What a name over cells that fit gains: judgement.
CONFIRMED = 0.1
#: Columns listed for each of ours.
LISTED = 5

_VEHICLE = "vehicle_ref"
#: A mark may pass to another vehicle and a VIN never does, but workshops know marks: judgement.
_STAND_INS = (("registration", 0.6), ("vin", 0.55))


@dataclass(frozen=True)
class Candidate:
    """Columns of the source that may be one of ours (joined by a blank, if several), and why.

    `confidence` orders candidates between 0 and 1; it is no probability.
    """

    sources: tuple[str, ...]
    confidence: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Proposal:
    """One of our columns: all candidates, best first, the one proposed, or a constant instead."""

    column: Column
    candidates: tuple[Candidate, ...] = ()
    chosen: Candidate | None = None
    constant: str | None = None
    reason: str = ""

    @property
    def is_answered(self) -> bool:
        return self.chosen is not None or self.constant is not None


@dataclass(frozen=True)
class KindProposal:
    """How the table may fill one kind of our files; `lacking` are needed columns without any."""

    kind: FileKind
    proposals: tuple[Proposal, ...]
    lacking: tuple[str, ...]

    def of(self, column: str) -> Proposal:
        return next(each for each in self.proposals if each.column.name == column)


def columns_propose(evidence: Evidence) -> tuple[KindProposal, ...]:
    """For every kind of our files, which source column is which of ours, from names and cells."""
    contents = {column.header: Content(column, evidence) for column in evidence.columns}
    return tuple(_of_kind(kind, contents) for kind in FILE_KINDS)


def kinds_fed(proposals: tuple[KindProposal, ...]) -> tuple[KindProposal, ...]:
    """The kinds this table can fill. Readings of jobs are recorded with the jobs, not once more."""
    complete = {each.kind.name: each for each in proposals if not each.lacking}
    if "jobs" in complete:
        complete.pop("odometer", None)
    return tuple(complete.values())


def _of_kind(kind: FileKind, contents: dict[str, Content]) -> KindProposal:
    listed = {
        column.name: sorted(_candidates(column, contents), key=lambda each: -each.confidence)
        for column in kind.columns
    }
    chosen = _assign(listed)
    proposals = [
        Proposal(column, tuple(listed[column.name][:LISTED]), chosen.get(column.name))
        for column in kind.columns
    ]
    proposals = [_completed(proposal, proposals, contents) for proposal in proposals]
    # The job's name may be made of the vehicle, which may itself be named by its mark.
    proposals = [_completed(proposal, proposals, contents) for proposal in proposals]
    if JOB_LINE.name in columns_of(kind):
        proposals = _with_line(proposals, contents)
    answered = {each.column.name for each in proposals if each.is_answered}
    lacking = tuple(
        each.column.name
        for each in proposals
        if (each.column.required or each.column.name == _VEHICLE)
        and each.column.name not in answered
        and each.column.name != "unit"
        and not (each.column.name == "operation" and JOB_LINE.name in answered)
    )
    return KindProposal(kind, tuple(proposals), lacking)


def _with_line(proposals: list[Proposal], contents: dict[str, Content]) -> list[Proposal]:
    """A column that tells the work in sentences is read line by line, and is no column of codes."""
    place, work = next(
        (place, each) for place, each in enumerate(proposals) if each.column.name == "operation"
    )
    told = [
        Candidate(each.sources, each.confidence, (*each.reasons, "its cells are words, not codes"))
        for each in work.candidates
        if is_told(contents[each.sources[0]].column)
    ]
    if work.chosen is None or work.chosen.sources not in [each.sources for each in told]:
        return [*proposals, Proposal(JOB_LINE, tuple(told))]
    chosen = next(each for each in told if each.sources == work.chosen.sources)
    rest = replace(work, chosen=None, reason="its cells are words: they are read as job lines")
    return [
        *proposals[:place],
        rest,
        *proposals[place + 1 :],
        Proposal(JOB_LINE, tuple(told), chosen),
    ]


def _candidates(column: Column, contents: dict[str, Content]) -> Iterator[Candidate]:
    for header, content in contents.items():
        named = header_match(header, column.name)
        judged = content_judge(column, content)
        if named is None and judged.alone < PROPOSED_FROM:
            continue
        reasons = tuple(filter(None, (named.reason if named else "", judged.reason)))
        if named is None:
            yield Candidate((header,), judged.alone, reasons)
        elif judged.fits is False:
            yield Candidate((header,), round(named.score * CONTRADICTED, 3), reasons)
        else:
            gain = CONFIRMED if judged.fits else 0.0
            yield Candidate((header,), round(min(1.0, named.score * 0.9 + gain), 3), reasons)


def _assign(listed: dict[str, list[Candidate]]) -> dict[str, Candidate]:
    """The surest pairs first; a source column is used once."""
    pairs = sorted(
        ((candidate, name) for name, each in listed.items() for candidate in each),
        key=lambda pair: -pair[0].confidence,
    )
    chosen: dict[str, Candidate] = {}
    used: set[tuple[str, ...]] = set()
    for candidate, name in pairs:
        if candidate.confidence < PROPOSED_FROM or name in chosen or candidate.sources in used:
            continue
        chosen[name] = candidate
        used.add(candidate.sources)
    return chosen


def _completed(
    proposal: Proposal, proposals: list[Proposal], contents: dict[str, Content]
) -> Proposal:
    """What other columns tell of one that has none of its own."""
    if proposal.is_answered:
        return proposal
    chosen = {each.column.name: each.chosen for each in proposals if each.chosen}
    name = proposal.column.name
    if name == _VEHICLE:
        stand_in = _vehicle_stand_in(contents)
        if stand_in is not None:
            return Proposal(
                proposal.column,
                (*proposal.candidates, stand_in),
                stand_in,
                reason=stand_in.reasons[0],
            )
    if name == "job_ref" and {_VEHICLE, "opened_on"} <= chosen.keys():
        sources = (*_of(chosen, _VEHICLE), *_of(chosen, "opened_on"))
        reason = "no column numbers the jobs; vehicle and day together name a visit"
        made = Candidate(sources, PROPOSED_FROM, (reason,))
        return Proposal(proposal.column, (*proposal.candidates, made), made, reason=reason)
    measured = next((chosen[each] for each in ("odometer", "offset") if each in chosen), None)
    if name == "unit" and measured is not None:
        unit = units_proven(contents[measured.sources[0]].column)
        if unit is not None:
            return Proposal(proposal.column, proposal.candidates, constant=unit[0], reason=unit[1])
    return proposal


def _of(chosen: dict[str, Candidate], name: str) -> tuple[str, ...]:
    return chosen[name].sources


def _vehicle_stand_in(contents: dict[str, Content]) -> Candidate | None:
    for name, confidence in _STAND_INS:
        column = next(each for kind in FILE_KINDS for each in kind.columns if each.name == name)
        found = max(_candidates(column, contents), key=lambda each: each.confidence, default=None)
        if found is not None and found.confidence >= PROPOSED_FROM:
            reason = f"no column of the organisation's own numbers; its {name} names the vehicle"
            return Candidate(found.sources, confidence, (reason, *found.reasons))
    return None

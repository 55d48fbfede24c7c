"""From what a line claims to its results: the acts on one thing taken together."""

from collections.abc import Iterable

from garage.records.choices import LineStatus, OperationKind
from garage.records.job_lines.joining import BARE, REMOVAL, Claim
from garage.records.job_lines.results import LineResult, Question
from garage.records.job_lines.statements import BURN, Thing

#: What is left of the confidence where an act found no thing. Judgement.
NO_THING = 0.4
#: The best that words alone give: a person may have meant something else.
MOST = 0.98
_TAKEN_OFF = frozenset({"remove", "shift", "exchange"})
_WEAK = frozenset({"remove", "refit", "shift"})
#: Cleaning these is an operation of its own kind; cleaning brakes is not.
_CLEANED_SYSTEMS = frozenset({"exhaust_aftertreatment", "air", "recirculation", "fuel"})
#: Acts that say enough without a thing.
_THINGLESS = frozenset({"inspect", "adjust", "other", "clean"})
_UNDONE = frozenset({"replace", "inspect", "adjust", "repair", "exchange"})


def results_of(claims: Iterable[Claim]) -> tuple[LineResult, ...]:
    """The results in the order of the line, each once."""
    found: dict[tuple[str, ...], LineResult] = {}
    claims = list(claims)
    for claim in claims:
        if claim.status == LineStatus.DONE:
            result = _done(claim, _beside(claim, claims))
        else:
            result = _not_done(claim, claims)
        if result is None:
            continue
        key = (
            *(result.status, result.operation, result.part_kind),
            *(result.position, result.system, result.ask),
        )
        if key not in found or found[key].confidence < result.confidence:
            found[key] = result
    return tuple(found.values())


def _key(thing: Thing | None) -> str:
    return "" if thing is None else thing.kind or thing.text


def _beside(claim: Claim, claims: list[Claim]) -> list[Claim]:
    """What else was done with the same thing."""
    return [
        each
        for each in claims
        if each.status == LineStatus.DONE and _key(each.thing) == _key(claim.thing)
    ]


def _done(claim: Claim, beside: list[Claim]) -> LineResult | None:
    name, thing = claim.act.name, claim.thing
    names = {each.act.name for each in beside}
    sure = min(claim.confidence, MOST)
    if name == REMOVAL:
        return _result(claim, "", sure, ask=Question.REMOVAL)
    if name == BARE:
        return _result(claim, "", sure, ask=Question.WORK)
    if name == "whole":
        system = claim.act.system
        return LineResult(claim.status, claim.act.operation, system=system, confidence=sure)
    if name == BURN:
        return _burn(claim, beside, sure)
    if name == "exchange" and "clean" in names:
        return None
    if name in _WEAK:
        if names - _WEAK:
            return None
        if names & {"refit", "shift"}:
            return _result(claim, OperationKind.OTHER, sure)
        return _result(claim, "", sure, ask=Question.WORK)
    if name == "clean":
        return _cleaned(claim, beside, sure)
    operation = OperationKind.REPLACE if name == "exchange" else name
    if thing is None and name not in _THINGLESS:
        return _result(claim, operation, sure * NO_THING, ask=Question.PART)
    return _result(claim, operation, sure)


def _result(
    claim: Claim, operation: str, confidence: float, *, ask: Question = Question.NONE
) -> LineResult:
    thing = claim.thing
    if thing is None:
        return LineResult(claim.status, operation, confidence=confidence, ask=ask)
    kind = "" if thing.kind == "?" else thing.kind
    if thing.kind == "?" and not ask:
        ask = Question.PART
    return LineResult(
        claim.status, operation, kind, thing.system, thing.position, round(confidence, 3), ask
    )


def _burn(claim: Claim, beside: list[Claim], sure: float) -> LineResult | None:
    operation = claim.act.operation
    if not operation and any(each.act.operation for each in beside if each.act.name == BURN):
        return None
    return LineResult(
        claim.status,
        operation,
        "particulate_filter",
        "exhaust_aftertreatment",
        confidence=sure,
        ask=Question.NONE if operation or claim.status != LineStatus.DONE else Question.BURN,
    )


def _cleaned(claim: Claim, beside: list[Claim], sure: float) -> LineResult | None:
    thing = claim.thing
    if thing is not None and not (thing.kind or thing.system in _CLEANED_SYSTEMS):
        return _result(claim, OperationKind.OTHER, sure)
    is_on = any(each.is_on for each in beside)
    is_off = any(each.is_off or each.act.name in _TAKEN_OFF for each in beside)
    if is_off and not claim.is_on:
        return _result(claim, OperationKind.CLEAN_OFF_VEHICLE, sure)
    if is_on:
        return _result(claim, OperationKind.CLEAN_ON_VEHICLE, sure)
    return _result(claim, "", sure, ask=Question.PLACE)


def _not_done(claim: Claim, claims: list[Claim]) -> LineResult | None:
    """A result that does not land; where one says more of the same thing, the emptier goes."""
    name = claim.act.name
    sure = min(claim.confidence, MOST)
    if name == REMOVAL:
        return _result(claim, "", sure, ask=Question.REMOVAL)
    same = [
        each
        for each in claims
        if each is not claim
        and each.status != LineStatus.DONE
        and _key(each.thing) == _key(claim.thing)
    ]
    if name not in _UNDONE and any(each.act.name in _UNDONE for each in same):
        return None
    if claim.status == LineStatus.ADVISED and any(
        each.status == LineStatus.DECLINED for each in same
    ):
        return None
    if name == BURN:
        return _burn(claim, [], sure)
    if name == "whole":
        return LineResult(
            claim.status, claim.act.operation, system=claim.act.system, confidence=sure
        )
    if name == "exchange":
        return _result(claim, OperationKind.REPLACE, sure)
    return _result(claim, name if name in _UNDONE else "", sure)

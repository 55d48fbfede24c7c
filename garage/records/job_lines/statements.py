"""What one clause says: which acts on which things, in what status, sound or faulty."""

from dataclasses import dataclass, field, replace

from garage.records.choices import LineStatus, OperationKind
from garage.records.job_lines.clauses import Clause
from garage.records.job_lines.lexicon import Role
from garage.records.job_lines.marking import Mark

#: What a sign of doubt leaves of the confidence. Judgement, set on the tuning half of the lines.
MISSPELT, UNKNOWN_WORD, TRAILING = 0.96, 0.93, 0.75
#: A status outranks those after it, where a clause has several.
_RANK = (
    LineStatus.DECLINED,
    LineStatus.NEGATED,
    LineStatus.ORDERED,
    LineStatus.QUOTED,
    LineStatus.ADVISED,
)
BURN = "burn"


@dataclass(frozen=True)
class Thing:
    """A part as named: `kind` "?" where the name does not say which of several."""

    kind: str
    system: str
    text: str
    position: str = ""


@dataclass(frozen=True)
class Act:
    """Something done; `operation` where it is known already, with the system that goes with it."""

    name: str
    operation: str = ""
    system: str = ""
    is_negated: bool = False


@dataclass
class Statement:
    """A clause as understood. `pairs` hold each act with its things; an act in `loose` looks for
    its things in the clauses around; `things` are all that were named."""

    clause: Clause
    things: list[Thing] = field(default_factory=list)
    pairs: list[tuple[Act, list[Thing], float]] = field(default_factory=list)
    loose: list[Act] = field(default_factory=list)
    status: str = ""
    numbers: str = ""
    confidence: float = 1.0
    is_verb_first: bool = False

    @property
    def is_sound(self) -> bool:
        """Whether it says that nothing is wrong: `ok`, or `no` before what would be wrong."""
        marks = self.clause.marks
        denied = [at for at, mark in enumerate(marks) if mark.role is Role.NOT]
        if self.has(Role.SOUND):
            return not any(marks[at + 1].role is Role.SOUND for at in denied if at + 1 < len(marks))
        return any(_denies_finding(marks, at) for at in denied)

    def has(self, *roles: Role) -> bool:
        return self.clause.has(*roles)


def statement_of(clause: Clause) -> Statement:
    """Read one clause."""
    clause = replace(clause, marks=tuple(_spoken(clause.marks)))
    said = Statement(clause)
    said.confidence = _confidence(clause)
    if clause.has(Role.COMPLAINT):
        return said
    said.status = _status(clause)
    said.numbers = next(
        (mark.sense.value for mark in clause.of(Role.POSITION)),
        "",
    )
    things: list[tuple[int, Thing]] = []
    for at, mark in enumerate(clause.marks):
        if _is_thing(mark):
            thing = _thing(mark, clause)
            # "filter clamp and gasket": both are the filter's.
            if mark.role is Role.FITTING and things:
                thing = replace(thing, system=things[-1][1].system)
            things.append((at, thing))
    said.things = [thing for _, thing in things]
    acts = _acts(clause)
    _pair(said, acts, things)
    return said


def _spoken(marks: tuple[Mark, ...]) -> list[Mark]:
    """Without purposes, causes, exceptions, and what merely came with a part."""
    kept: list[Mark] = []
    is_with = False
    for at, mark in enumerate(marks):
        follower = marks[at + 1].role if at + 1 < len(marks) else None
        if mark.role in (Role.PURPOSE, Role.EXCEPT):
            break
        if mark.role is Role.BECAUSE and follower is not Role.PART and kept:
            break
        is_with = is_with or mark.role is Role.WITH
        if is_with and mark.role in (Role.PART, Role.FITTING) and not mark.sense.value:
            continue
        kept.append(mark)
    return kept


def _confidence(clause: Clause) -> float:
    misspelt = sum(mark.is_fuzzy for mark in clause.marks)
    unknown = len(clause.of(Role.UNKNOWN))
    return float(MISSPELT**misspelt * UNKNOWN_WORD**unknown)


def _status(clause: Clause) -> str:
    said = {mark.sense.value for mark in clause.of(Role.STATUS)}
    return next((status.value for status in _RANK if status in said), "")


def _is_thing(mark: Mark) -> bool:
    return mark.role in (Role.PART, Role.FITTING)


def _thing(mark: Mark, clause: Clause) -> Thing:
    position = ""
    sides = {"nox_sensor": "catalyst", "pressure_hose": "filter"}
    if mark.sense.value in sides:
        side = sides[mark.sense.value]
        if clause.has(Role.BEFORE):
            position = f"before the {side}"
        elif clause.has(Role.AFTER):
            position = f"after the {side}"
    kind = mark.sense.value if mark.role is Role.PART else ""
    return Thing(kind, mark.sense.system, mark.text, position)


def _acts(clause: Clause) -> list[tuple[int, Act]]:
    """The acts with their places, negated where a `not` goes before them, or before none."""
    found = [
        (at, act) for at, mark in enumerate(clause.marks) if (act := _act(mark, clause)) is not None
    ]
    nots = [
        at
        for at, mark in enumerate(clause.marks)
        if mark.role is Role.NOT and not _denies_finding(clause.marks, at)
    ]
    if not nots:
        return found
    after = [at for at, _ in found if at > nots[0]]
    return [(at, replace(act, is_negated=at in after or not after)) for at, act in found]


def _denies_finding(marks: tuple[Mark, ...], at: int) -> bool:
    """`no cracks`, `not ok`: about what was found, not about what was done."""
    ahead = [mark.role for mark in marks[at + 1 : at + 3]]
    return any(role in (Role.FINDING, Role.CODES, Role.SOUND) for role in ahead)


def _act(mark: Mark, clause: Clause) -> Act | None:
    if mark.role is Role.ACT:
        return _named_act(mark.sense.value, clause)
    if mark.role is Role.WHOLE:
        return Act("whole", mark.sense.value, mark.sense.system)
    if mark.role is Role.BURN:
        return Act(BURN, mark.sense.value or _burn_kind(clause))
    if mark.role is Role.OFF and mark.sense.value:
        return Act("clean")
    return None


def _named_act(name: str, clause: Clause) -> Act:
    if clause.has(Role.CODES) and not clause.has(Role.PART, Role.FITTING):
        if name in ("clear", "adjust"):
            return Act("whole", OperationKind.CLEAR_CODES)
        if name == "inspect":
            return Act("whole", OperationKind.INSPECT)
    if name == "clear" and clause.has(Role.CODES):
        return Act("whole", OperationKind.CLEAR_CODES)
    if name == "program":
        has_part = any(mark.sense.value for mark in clause.of(Role.PART))
        return Act("adjust") if has_part else Act("whole", OperationKind.SOFTWARE_UPDATE)
    return Act(name)


def _burn_kind(clause: Clause) -> str:
    # "Forced" on the road is still on the road.
    if clause.has(Role.DRIVING):
        return str(OperationKind.REGENERATE_DRIVING)
    if clause.has(Role.STANDSTILL):
        return str(OperationKind.REGENERATE_STATIONARY)
    return ""


def _pair(said: Statement, acts: list[tuple[int, Act]], things: list[tuple[int, Thing]]) -> None:
    """Give each act its things: those after it where the clause begins with an act, else those
    before it; an act without any shares its neighbour's."""
    for _, act in acts:
        if act.name in (BURN, "whole"):
            said.pairs.append((act, [], 1.0))
    wanting = [(at, act) for at, act in acts if act.name not in (BURN, "whole")]
    if any(act.name == BURN for _, act in acts):
        things = [each for each in things if each[1].kind != "particulate_filter"]
    if not wanting:
        return
    if not things:
        said.loose = [act for _, act in wanting]
        return
    verb_first = said.is_verb_first = wanting[0][0] < things[0][0]
    given = _given(wanting, things, verb_first=verb_first)
    for (at, act), own in zip(wanting, given, strict=True):
        trails = not verb_first and any(place > at for place, _ in own)
        said.pairs.append((act, [thing for _, thing in own], TRAILING if trails else 1.0))


def _given(
    acts: list[tuple[int, Act]], things: list[tuple[int, Thing]], *, verb_first: bool
) -> list[list[tuple[int, Thing]]]:
    places = [at for at, _ in acts]
    own: list[list[tuple[int, Thing]]] = [[] for _ in acts]
    for place, thing in things:
        if verb_first:
            nth = max(i for i, at in enumerate(places) if at < place)
        else:
            later = [i for i, at in enumerate(places) if at > place]
            nth = later[0] if later else len(places) - 1
        own[nth].append((place, thing))
    # "removed and cleaned the valve", "valve removed and cleaned": one thing, several acts.
    order = range(len(acts) - 2, -1, -1) if verb_first else range(1, len(acts))
    for i in order:
        if not own[i]:
            own[i] = own[i + 1] if verb_first else own[i - 1]
    if verb_first:
        for i in range(1, len(acts)):
            own[i] = own[i] or own[i - 1]
    return own

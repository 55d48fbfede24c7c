"""Join the statements of a line: what one leaves unsaid is taken from those around it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from garage.records.choices import LineStatus, OperationKind
from garage.records.job_lines.lexicon import Role
from garage.records.job_lines.statements import BURN, Act, Statement, Thing

#: What taking something from a neighbouring clause leaves of the confidence. Judgement, set on the
#: tuning half of the labelled lines.
THING_BESIDE, ACT_BESIDE, STATUS_BESIDE = 0.97, 0.93, 0.9
REMOVAL, BARE = "removal", "bare"
_FILTER = Thing("particulate_filter", "exhaust_aftertreatment", "dpf")
_NUMBERED = {"injector": "cyl {}", "glow_plug": "cyl {}", "temperature_sensor": "{}"}
_EMISSION = ("exhaust_aftertreatment", "recirculation")


@dataclass(frozen=True)
class Claim:
    """One act on one thing, as the line claims it."""

    act: Act
    thing: Thing | None
    status: str
    confidence: float
    is_off: bool = False
    is_on: bool = False


def claims_of(statements: Iterable[Statement]) -> list[Claim]:
    """What the line claims; of a line that only names parts, those with the act BARE."""
    joining = _Joining()
    for said in statements:
        joining.take(said)
    return joining.claims or joining.named


class _Joining:
    """What is known on the way through a line.

    `last` are the claims of the last statement that made any; `context` are the things named last;
    `bare` those of them that nothing has been said of yet; `named` what is left to ask about.
    """

    def __init__(self) -> None:
        self.claims: list[Claim] = []
        self.named: list[Claim] = []
        self.last: list[Claim] = []
        self.is_verb_first = False
        self.context: list[Thing] = []
        self.bare: list[Thing] = []
        self.is_list = False
        self.has_codes = False
        self.pending = ""

    def take(self, said: Statement) -> None:
        if said.has(Role.COMPLAINT):
            return
        said.things = [self._named_before(thing) for thing in said.things]
        said.pairs = [
            (act, [self._named_before(thing) for thing in own], sure)
            for act, own, sure in said.pairs
        ]
        made = list(self._claims(said))
        if made:
            self.last = made
            self.is_verb_first = said.is_verb_first
            self.claims += made
        self._remember(said, made=bool(made))

    def _named_before(self, thing: Thing) -> Thing:
        """`found the pressure hose split, renewed hose`: the one found."""
        if thing.kind or thing.system:
            return thing
        before = [each for each in self.context if thing.text in each.text.split()]
        return before[0] if before else thing

    def _claims(self, said: Statement) -> Iterable[Claim]:
        if said.has(Role.REMOVAL):
            return self._removals(said)
        if said.pairs or said.loose:
            return self._acts(said)
        if said.status:
            return self._status(said)
        if said.is_sound:
            things = said.things or self.bare
            return [Claim(Act(""), thing, LineStatus.NEGATED, said.confidence) for thing in things]
        if said.things and not said.has(Role.FINDING, Role.CODES, Role.IDLE, Role.SOUND):
            return self._list_goes_on(said)
        return []

    def _remember(self, said: Statement, *, made: bool) -> None:
        linked = said.clause.stop in (",", "and") and bool(self.bare)
        if said.things:
            self.context = [*(self.bare if linked and not made else []), *said.things]
            self.bare = [] if made else list(self.context)
            self.is_list = not said.has(Role.FINDING, Role.CODES, Role.IDLE, Role.UNKNOWN)
            if not made and not said.has(Role.FINDING, Role.CODES, Role.IDLE):
                self.named += [
                    Claim(Act(BARE), thing, LineStatus.DONE, said.confidence)
                    for thing in _numbered(said.things, said)
                ]
        elif any(act.name == BURN for act, _, _ in said.pairs):
            self.context, self.bare = [_FILTER], []
        elif made:
            self.bare = []
        self.has_codes = self.has_codes or said.has(Role.CODES)

    def _removals(self, said: Statement) -> list[Claim]:
        """Codes may be deleted; an emission part may not."""
        parts = [thing for thing in said.things or self.context if thing.system in _EMISSION]
        if said.has(Role.CODES) and not parts:
            act = Act("whole", OperationKind.CLEAR_CODES)
            return [Claim(act, None, LineStatus.DONE, said.confidence)]
        named = [_FILTER] if any("dpf" in each.text for each in said.clause.marks) else [None]
        return [
            Claim(Act(REMOVAL), thing, LineStatus.DONE, said.confidence) for thing in parts or named
        ]

    def _acts(self, said: Statement) -> list[Claim]:
        made = []
        is_shared = said.clause.stop == "," and self.is_list and not said.is_verb_first
        shared = self.bare if is_shared else []
        status = self._status_of(said)
        for act, own, sure in said.pairs:
            needs_none = act.name in (BURN, "whole")
            things = [None] if needs_none else _numbered([*shared, *own], said)
            made += [self._claim(act, thing, said, status, sure) for thing in things]
        for act in said.loose:
            if act.name == "clear" and (self.has_codes or not self.context):
                made.append(self._claim(_CLEAR, None, said, status, 1.0))
                continue
            found = [_FILTER] if self._means_filter(act, said) else self.context
            things = _numbered(found, said) or [None]
            made += [self._claim(act, thing, said, status, THING_BESIDE) for thing in things]
        return made

    def _means_filter(self, act: Act, said: Statement) -> bool:
        """`forced regen and reset`: the filter that was burned free."""
        return act.name == "adjust" and any(each.name == BURN for each, _, _ in said.pairs)

    def _claim(
        self, act: Act, thing: Thing | None, said: Statement, status: str, sure: float
    ) -> Claim:
        if act.name == "clear":
            act = replace(act, name="clean")
        if act.is_negated and status in (LineStatus.DONE, LineStatus.ADVISED):
            status = LineStatus.NEGATED
        is_on = said.has(Role.ON)
        return Claim(act, thing, status, sure * said.confidence, said.has(Role.OFF), is_on)

    def _status_of(self, said: Statement) -> str:
        pending, self.pending = self.pending, ""
        return said.status or pending or LineStatus.DONE

    def _status(self, said: Statement) -> list[Claim]:
        """A status without an act: of the things beside it, of what was said before, or of what
        comes after."""
        if said.things or (not self.last and self.context and said.clause.end != ":"):
            things = _numbered(said.things or self.context, said)
            act = Act("replace") if said.has(Role.NEW) else Act("")
            status = self._status_of(said)
            return [Claim(act, thing, status, said.confidence) for thing in things]
        if self.bare:
            return [Claim(Act(""), thing, said.status, said.confidence) for thing in self.bare]
        if not self.last or said.clause.end == ":":
            self.pending = said.status
            return []
        changed = [
            replace(each, status=said.status, confidence=each.confidence * STATUS_BESIDE)
            for each in self.last
        ]
        self.claims = [each for each in self.claims if each not in self.last]
        return changed

    def _list_goes_on(self, said: Statement) -> list[Claim]:
        """`replaced the valve, thermostat and hose`: the act of the clause before."""
        if self.pending:
            status = self._status_of(said)
            return [Claim(Act(""), thing, status, said.confidence) for thing in said.things]
        is_list = said.clause.stop in (",", "and") and (self.is_verb_first or said.has(Role.NEW))
        if not is_list or not self.last or self.last[0].thing is None:
            return []
        sure = ACT_BESIDE * said.confidence
        models = {each.act: each for each in self.last}
        return [
            replace(model, thing=thing, confidence=min(sure, model.confidence))
            for model in models.values()
            for thing in _numbered(said.things, said)
        ]


_CLEAR = Act("whole", OperationKind.CLEAR_CODES)


def _numbered(things: list[Thing], said: Statement) -> list[Thing]:
    """The things at each of the positions that the clause numbers."""
    kind, _, numbers = said.numbers.partition(" ")
    found = []
    for thing in things:
        if kind == "bank" and thing.kind and thing.kind != "temperature_sensor":
            found += [replace(thing, position=f"bank {each}") for each in numbers.split()]
        elif kind == "number" and thing.kind in _NUMBERED:
            form = _NUMBERED[thing.kind]
            found += [replace(thing, position=form.format(each)) for each in numbers.split()]
        else:
            found.append(thing)
    return found

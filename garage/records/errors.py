"""The shape of a refusal: the rule, what came, and what to do next."""

from collections.abc import Callable, Iterable, Iterator


class RuleBroken(ValueError):
    """Input that breaks a rule of the records.

    `rule` states what must hold, `got` what came, `do` what to do next; `column` names the
    field where it is known.
    """

    def __init__(self, rule: str, *, got: object, do: str, column: str | None = None) -> None:
        self.rule = rule
        self.got = str(got)
        self.do = do
        self.column = column
        super().__init__(f"{rule}; got {self.got!r}. {do}")

    @property
    def broken(self) -> tuple["RuleBroken", ...]:
        return (self,)


class RulesBroken(RuleBroken):
    """Several rules broken at once: every fault of one request, the first of them in front."""

    def __init__(self, broken: Iterable[RuleBroken]) -> None:
        self._broken = tuple(broken)
        first = self._broken[0]
        super().__init__(first.rule, got=first.got, do=first.do, column=first.column)

    @property
    def broken(self) -> tuple[RuleBroken, ...]:
        return self._broken


def broken_by(*checks: Callable[[], object]) -> Iterator[RuleBroken]:
    """What these checks refuse; each is tried, whatever the others said."""
    for check in checks:
        try:
            check()
        except RuleBroken as refused:
            yield from refused.broken


def refuse_all(broken: Iterable[RuleBroken]) -> None:
    """Raise everything that is broken at once; nothing where all holds."""
    faults = tuple(broken)
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise RulesBroken(faults)

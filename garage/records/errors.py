"""The shape of a refusal: the rule, what came, and what to do next."""


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

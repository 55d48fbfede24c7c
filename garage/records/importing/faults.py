"""What is wrong with a row or a file, in the shape of every refusal."""

from dataclasses import dataclass

from garage.records.errors import RuleBroken


@dataclass(frozen=True, slots=True)
class Fault:
    """One broken rule: where, which, what came, what to do."""

    rule: str
    got: str
    do: str
    column: str = ""

    @classmethod
    def of(cls, broken: RuleBroken, *, column: str) -> "Fault":
        return cls(broken.rule, shown(broken.got), broken.do, broken.column or column)

    def __str__(self) -> str:
        return f"{self.rule}; got {self.got}. {self.do}"


class ImportRefused(Exception):
    """The import cannot go on; nothing of the file at fault was applied."""

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


def shown(text: str, *, limit: int = 80) -> str:
    """A cell as a message may show it: on one line, at readable length."""
    flat = "".join(sign if sign.isprintable() else "�" for sign in text)
    return flat if len(flat) <= limit else f"{flat[:limit]}… ({len(text)} characters)"

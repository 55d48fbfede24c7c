"""What a broken rule of the records is called in an answer."""

from api.problems import Fault
from garage.records.errors import RuleBroken


def broken_told(refused: RuleBroken) -> list[Fault]:
    """Each rule that the request broke, as a fault of its body."""
    return [
        Fault("rule_broken", "body", each.column or "", f"{each.rule}; got {each.got!r}. {each.do}")
        for each in refused.broken
    ]

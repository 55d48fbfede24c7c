"""What a broken rule of the records is called in an answer."""

from collections.abc import Iterator
from contextlib import contextmanager

from api.problems import INVALID_REQUEST, Fault, Refused
from garage.records.errors import RuleBroken


def broken_told(refused: RuleBroken) -> list[Fault]:
    """Each rule that the request broke, as a fault of its body."""
    return [
        Fault("rule_broken", "body", each.column or "", f"{each.rule}; got {each.got!r}. {each.do}")
        for each in refused.broken
    ]


@contextmanager
def rules_told() -> Iterator[None]:
    """Answers with every rule that is broken inside, as faults of the request."""
    try:
        yield
    except RuleBroken as refused:
        raise Refused(INVALID_REQUEST, errors=broken_told(refused)) from refused

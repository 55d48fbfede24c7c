"""Rows that several printed sheets share."""

from collections.abc import Iterable

from garage.evidence.quantities.catalogue import quantities
from garage.pages import words
from garage.records.jobs import costs_of
from garage.records.models import Operation, Reading, Warranty


def told(facts: dict[str, str]) -> list[list[str]]:
    """Name and value of what is known; what is not is left out."""
    return [[name, value] for name, value in facts.items() if value]


def reading_row(when: str, reading: Reading) -> list[str]:
    """Four cells: what was read, when, the value as it was shown, what the engine did."""
    known = quantities().get(reading.quantity)
    title = reading.quantity if known is None else known.title
    value = f"{reading.value.normalize():f}{words.NO_BREAK}{reading.unit or '(no unit shown)'}"
    speed = [] if reading.speed_rpm is None else [f"{reading.speed_rpm} rpm"]
    did = filter(None, [reading.get_condition_display(), *speed])
    return [title, when, value, ", ".join(did)]


def cost_rows(operations: Iterable[Operation]) -> list[list[str]]:
    """Labour, parts and tax apart, and their sum, each currency by itself."""
    rows = []
    for cost in costs_of(operations):
        parts = {"Labour": cost.labour, "Parts": cost.parts, "Tax": cost.tax}
        known = [(what, amount) for what, amount in parts.items() if amount is not None]
        if known:
            rows += [
                [what, f"{amount:.2f} {cost.currency}"]
                for what, amount in (*known, ("Together", cost.total))
            ]
    return rows


def terms_told(warranty: Warranty) -> str:
    """How long a warranty holds: 24 months or 40 000 km, whichever ends first."""
    terms = [
        *([f"{warranty.months} months"] if warranty.months is not None else []),
        *([words.kilometres(warranty.distance_km)] if warranty.distance_km is not None else []),
    ]
    return " or ".join(terms) + (", whichever ends first" if len(terms) > 1 else "")

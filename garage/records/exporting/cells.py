"""Values as cells of the import form: what garage.records.importing.cells reads back to them."""

from collections.abc import Iterable
from datetime import date
from decimal import ROUND_UP, Decimal

from garage.records.choices import DistanceUnit
from garage.records.distance import KM_PER_MILE, to_km
from garage.records.importing.cells import CONTROL, NONE, cell_text

_HUNDREDTH = Decimal("0.01")
_HALF = Decimal("0.5")


def text_cell(text: str | None) -> str:
    """A text in the one spelling in which it comes back; the import takes no control characters."""
    return "" if text is None else cell_text(CONTROL.sub(" ", text))


def day_cell(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def number_cell(number: Decimal | None) -> str:
    """Plain digits, the same from every database: no noughts after the last decimal."""
    return "" if number is None else f"{number.normalize():f}"


def yes_no_cell(answer: bool | None) -> str:
    return "" if answer is None else "yes" if answer else "no"


def systems_cell(codes: Iterable[str] | None) -> str:
    """Empty: not asked. None at all is said."""
    return "" if codes is None else " ".join(sorted(codes)) or NONE


def typed_from_km(km: int, unit: str) -> Decimal:
    """The smallest distance in this unit, to hundredths, that is kept as these whole km.

    The smallest, so that it is not beyond an odometer reading of the same distance.
    """
    if unit != DistanceUnit.MILES or km == 0:
        return Decimal(km)
    typed = ((km - _HALF) / KM_PER_MILE).quantize(_HUNDREDTH, rounding=ROUND_UP)
    # A half goes to the even kilometre, which may be the one below.
    return typed if to_km(typed, unit) == km else typed + _HUNDREDTH

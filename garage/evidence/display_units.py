"""In which unit a display that names none shows a quantity, as far as somebody confirmed it."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.quantities.units import Unit, converted, unit_of
from garage.records.models import Instrument, UnitConfirmed

PRESSURE = "pressure_across_filter"


@dataclass(frozen=True)
class DisplayUnit:
    """A unit, and who confirmed it; `confirmed` is None where the instrument itself names it."""

    unit: Unit
    confirmed: UnitConfirmed | None

    @property
    def words(self) -> str:
        """Where it is known from."""
        if self.confirmed is None:
            return "named by the instrument itself"
        if self.confirmed.engine_family_id is None:
            return "confirmed for every engine family"
        return "confirmed for this engine family"


def unit_of_display(
    *, instrument: Instrument, engine_family_id: int | None, quantity: str = PRESSURE
) -> DisplayUnit | None:
    """Answer in which unit an instrument shows a quantity on vehicles of one engine family.

    What the instrument itself names comes first, then what was confirmed for the family, then for
    all. None where nobody said. Fetch `units` beforehand where many are asked.
    """
    known = quantities().get(quantity)
    if known is None:
        return None
    named = unit_of(instrument.unit, known.dimension) if instrument.unit else None
    if named is not None:
        return DisplayUnit(named, None)
    confirmed = _confirmed(instrument.units.all(), engine_family_id, quantity)
    unit = None if confirmed is None else unit_of(confirmed.unit, known.dimension)
    return None if unit is None else DisplayUnit(unit, confirmed)


def standard_value_shown(
    *, quantity: str, value: Decimal, shown_in: DisplayUnit | None
) -> float | None:
    """A bare number of a display in the quantity's standard unit.

    None where its unit is not known: nobody confirmed it, and the quantity has more than one.
    """
    known = quantities().get(quantity)
    if known is None:
        return None
    if shown_in is not None:
        return float(converted(value, shown_in.unit, known.unit))
    return float(value) if known.unit_goes_unsaid else None


def _confirmed(
    rows: Iterable[UnitConfirmed], engine_family_id: int | None, quantity: str
) -> UnitConfirmed | None:
    for_all: UnitConfirmed | None = None
    for each in rows:
        if each.quantity != quantity:
            continue
        if each.engine_family_id is None:
            for_all = each
        elif each.engine_family_id == engine_family_id:
            return each
    return for_all

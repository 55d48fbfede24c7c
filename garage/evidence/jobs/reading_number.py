"""The number behind a reading, in the unit that a reckoning works in."""

from fractions import Fraction

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.quantities.units import converted, unit_of
from garage.records.models import Reading


def reading_number(reading: Reading, unit: str) -> float | None:
    """What is a reading in this unit? None where its own unit is not known.

    Raises ValueError for a unit that its quantity has not.
    """
    known = quantities().get(reading.quantity)
    if reading.standard_value is None or known is None:
        return None
    wanted = unit_of(unit, known.dimension)
    if wanted is None:
        raise ValueError(
            f"`unit` is one of {known.dimension}; got `{unit}` for {known.title}. Name another"
        )
    return float(converted(Fraction(reading.standard_value), known.unit, wanted))


def reading_step(reading: Reading, unit: str) -> float:
    """How large is one step of a reading's last figure, in this unit? 0 where it cannot be told.

    Trailing zeros are not kept, so the step of 5.0 counts as 1: rather too wide than too narrow.
    """
    known = quantities().get(reading.quantity)
    if known is None:
        return 0.0
    shown, wanted = unit_of(reading.unit, known.dimension), unit_of(unit, known.dimension)
    exponent = reading.value.normalize().as_tuple().exponent
    if shown is None or wanted is None or not isinstance(exponent, int):
        return 0.0
    return float(Fraction(10) ** min(exponent, 0) * shown.factor / wanted.factor)

"""A reading of the records as the evidence takes it."""

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.visit.said import ReadingSaid
from garage.records.choices import BaselineBecause
from garage.records.models import Reading


def reading_said(reading: Reading) -> ReadingSaid:
    """A reading of the records as the weighing takes it."""
    kept = getattr(reading, "baseline", None)
    return ReadingSaid(
        quantity=reading.quantity,
        typed=f"{reading.value.normalize():f} {reading.unit}".strip(),
        standard_value=reading.standard_value,
        reason=_why_not_known(reading),
        condition=reading.condition,
        layout=reading.layout,
        kind=reading.kind,
        speed_rpm=reading.speed_rpm,
        km_since_burn=reading.km_since_burn,
        minutes_since_burn=reading.minutes_since_burn,
        after_burn=kept is not None and kept.because == BaselineBecause.COMPLETED_BURN,
    )


def _why_not_known(reading: Reading) -> str:
    if reading.standard_value is not None:
        return ""
    if not reading.unit:
        return "the display shows no unit; say which it is"
    known = quantities().get(reading.quantity)
    return f"no unit of {known.dimension if known else 'such a quantity'} that is known here"

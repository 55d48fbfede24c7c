"""Which readings of one visit cannot all be true."""

from collections.abc import Sequence
from decimal import Decimal

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.quantities.reading_check import ReadingTyped, reading_checked
from garage.evidence.quantities.readings_together import DEFAULTS, readings_checked_together
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.said import ReadingSaid
from garage.records.importing.faults import Fault


def readings_at_odds(
    readings: Sequence[ReadingSaid], limits: Thresholds = DEFAULTS
) -> tuple[Fault, ...]:
    """Answer which readings contradict each other; which of them is wrong is not said.

    Examples
    --------
    >>> idle = {"condition": "idle"}
    >>> read = [
    ...     ReadingSaid("air_flow", "0 g/s", 0.0, **idle),
    ...     ReadingSaid("engine_speed", "800 rpm", 800.0, **idle),
    ... ]
    >>> [each.rule for each in readings_at_odds(read)]
    ['an engine that turns has air flow into the engine above 0']
    """
    return readings_checked_together(
        [
            reading_checked(
                ReadingTyped(
                    quantity=each.quantity,
                    # Fifteen figures are all that a float surely keeps of what was typed.
                    value=Decimal(f"{each.standard_value:.15g}"),
                    unit=quantities()[each.quantity].unit.symbol,
                    kind=each.kind,
                    condition=each.condition,
                    speed_rpm=None if each.speed_rpm is None else int(each.speed_rpm),
                )
            )
            for each in readings
            if each.standard_value is not None and each.quantity in quantities()
        ],
        limits,
    )

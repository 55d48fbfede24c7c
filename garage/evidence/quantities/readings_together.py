"""Whether readings taken at one condition of the engine can all be true."""

from collections.abc import Sequence
from fractions import Fraction

from garage.evidence.quantities.catalogue import quantity
from garage.evidence.quantities.reading_check import (
    ENGINE_OFF,
    ReadingChecked,
    with_unit,
)
from garage.evidence.thresholds import Basis, Threshold, Thresholds
from garage.records.importing.faults import Fault

LIMITS: tuple[Threshold, ...] = (
    Threshold(
        key="difference_over_ends_most_mbar",
        value=10.0,
        unit="mbar",
        title="most that the pressure across the filter may lie over before less after",
        basis=Basis.PRACTICE,
    ),
)
DEFAULTS = Thresholds(LIMITS)
_FLOWS = ("air_flow", "exhaust_flow")
_RUNNING = ("idle", "raised", "load")


def readings_checked_together(
    checked: Sequence[ReadingChecked], limits: Thresholds = DEFAULTS
) -> tuple[Fault, ...]:
    """Answer which readings of one visit contradict each other.

    Readings are compared within one condition of the engine, the last of each quantity. Those
    without a condition, without a known value, or only commanded, are compared with nothing. A
    fault says which parts do not fit, never which of them is wrong. The rules and the limit are
    common practice, no source.

    Examples
    --------
    >>> from decimal import Decimal
    >>> from garage.evidence.quantities.reading_check import ReadingTyped, reading_checked
    >>> read = [("air_flow", 0, "g/s"), ("engine_speed", 800, "rpm")]
    >>> typed = [ReadingTyped(q, Decimal(v), u, condition="idle") for q, v, u in read]
    >>> [each.rule for each in readings_checked_together([reading_checked(t) for t in typed])]
    ['an engine that turns has air flow into the engine above 0']
    """
    found: list[Fault] = []
    for condition in dict.fromkeys(each.typed.condition for each in checked):
        if not condition:
            continue
        here = [each for each in checked if each.typed.condition == condition]
        usable = {
            each.typed.quantity: each
            for each in here
            if each.value is not None and each.kind != "commanded"
        }
        found += _speed_faults(condition, usable)
        found += _flow_faults(_speeds(here, usable), usable)
        found += _difference_faults(usable, limits)
    return tuple(found)


def _value(usable: dict[str, ReadingChecked], key: str) -> Fraction | None:
    reading = usable.get(key)
    return None if reading is None else reading.value


def _speeds(here: Sequence[ReadingChecked], usable: dict[str, ReadingChecked]) -> list[Fraction]:
    read = _value(usable, "engine_speed")
    noted = [Fraction(e.typed.speed_rpm) for e in here if e.typed.speed_rpm is not None]
    return noted if read is None else [read, *noted]


def _speed_faults(condition: str, usable: dict[str, ReadingChecked]) -> list[Fault]:
    speed_rpm = _value(usable, "engine_speed")
    if speed_rpm is None:
        return []
    if condition == ENGINE_OFF and speed_rpm > 0:
        rule = "an engine that is off does not turn"
    elif condition in _RUNNING and speed_rpm == 0:
        rule = "an engine that runs turns"
    else:
        return []
    do = "Say what the engine was doing: a zero is read with the key on and the engine off."
    return [Fault(rule, with_unit(speed_rpm, "rpm"), do, "condition")]


def _flow_faults(speeds: Sequence[Fraction], usable: dict[str, ReadingChecked]) -> list[Fault]:
    if not any(speed > 0 for speed in speeds):
        return []
    return [
        Fault(
            f"an engine that turns has {quantity(flow).title} above 0",
            f"{with_unit(value, usable[flow].unit)} at {with_unit(max(speeds), 'rpm')}",
            "Read both again; the flow sensor may be unplugged, or the display may show no value.",
            "value",
        )
        for flow in _FLOWS
        if (value := _value(usable, flow)) is not None and value <= 0
    ]


def _difference_faults(usable: dict[str, ReadingChecked], limits: Thresholds) -> list[Fault]:
    across, before, after = (
        _value(usable, f"pressure_{where}_filter") for where in ("across", "before", "after")
    )
    if across is None or before is None or after is None:
        return []
    between = before - after
    most_mbar = limits["difference_over_ends_most_mbar"]
    if across - between <= Fraction(most_mbar):
        return []
    return [
        Fault(
            "pressure across the filter is not above the pressure before less that after, "
            f"but for {most_mbar:g} mbar",
            f"{with_unit(across, 'mbar')} across, {with_unit(between, 'mbar')} between the two",
            "Read all three in one unit, before and after against the same zero, in one go.",
            "value",
        )
    ]

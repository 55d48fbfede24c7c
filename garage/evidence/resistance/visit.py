"""Points of pressure and flow out of the readings of one visit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from garage.evidence.resistance.flow import (
    Flow,
    FlowStatus,
    GasAtFilter,
    Intake,
    flow_from_air_mass,
    flow_from_engine,
    flow_from_exhaust_mass,
)
from garage.evidence.resistance.gas import SECONDS_PER_HOUR
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.points import PressurePoint, Zero
from garage.evidence.resistance.states import Layout
from garage.evidence.resistance.visit_said import (
    AIR_FLOW,
    AIR_PRESSURE,
    EXHAUST_FLOW,
    OFF,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    WORDS,
    FlowFrom,
    PointTaken,
    ReadingTaken,
    VisitPoints,
)
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.said import Unused

_NEEDED = ("idle", "raised")
_MBAR_PER_KPA = 10.0
_GRAMS_PER_KG = 1000.0
# Standard deviation of a figure rounded to a step, as a share of it (rectangular distribution).
_ROUNDED = 1.0 / math.sqrt(12.0)


@dataclass(frozen=True, slots=True)
class _Around:
    """What all points of a visit share."""

    zero_mbar: float | None
    barometric_mbar: float | None
    displacement_l: float | None
    at_several_speeds: frozenset[str]
    readings: tuple[ReadingTaken, ...]
    limits: Thresholds


def visit_points(
    readings: Sequence[ReadingTaken],
    displacement_l: float | None = None,
    limits: Thresholds = DEFAULTS,
) -> VisitPoints:
    """Which pressures of this visit can be set beside a flow, and what is lacking?

    Of several readings of one thing at one speed the last holds. A flow read at the same condition
    goes before one reckoned from displacement and speed, which is for an engine without load. The
    zero rule of the findings holds: beyond 2 mbar no idle value is used, beyond 5 mbar none
    (common practice, no source).

    Parameters
    ----------
    readings : sequence of ReadingTaken
        Of one visit, oldest first.
    displacement_l : float or None
        Of the engine.
    limits : Thresholds

    Returns
    -------
    VisitPoints

    Raises
    ------
    ValueError
        For a displacement that is not above zero, or a reading no gas can have.

    Examples
    --------
    >>> found = visit_points([ReadingTaken(PRESSURE, 4.8, 0.1, "4.8 mbar", "idle", "two_hose")])
    >>> found.missing[0]
    'the pressure with key on, engine off'
    """
    pressures = [each for each in readings if each.quantity == PRESSURE]
    layout, two_layouts = _layout_of(pressures)
    zero, zero_off = _zero_of(pressures, limits)
    barometer = _last(readings, AIR_PRESSURE)
    kept = _one_of_each(pressures, limits)
    around = _Around(
        zero_mbar=None if zero is None else zero.pressure_mbar,
        barometric_mbar=None if barometer is None else barometer.value * _MBAR_PER_KPA,
        displacement_l=displacement_l,
        at_several_speeds=_at_several_speeds(kept),
        readings=tuple(readings),
        limits=limits,
    )
    left_out = list(two_layouts) + ([zero_off] if zero_off is not None else [])
    left_out += [
        Unused(each.typed, "whether the engine was off, idling or raised is not said")
        for each in pressures
        if not each.condition
    ]
    points = []
    for each in kept:
        if _idle_held_back(each, zero, limits):
            why = "the zero is too far off for an idle value; raised speed is corrected for it"
            left_out.append(Unused(f"{each.typed} at idle", why))
            continue
        points.append(_point(each, around))
    seen = {each.condition for each in pressures}
    missing = _missing(seen, layout, points)
    return VisitPoints(zero, zero_off, layout, tuple(points), missing, tuple(left_out))


def _layout_of(pressures: Sequence[ReadingTaken]) -> tuple[Layout, tuple[Unused, ...]]:
    said = dict.fromkeys(each.layout for each in pressures if each.layout)
    if len(said) == 1:
        return Layout(next(iter(said))), ()
    if not said:
        return Layout.NOT_SAID, ()
    why = "readings of one visit name one hose and two hoses; say which it was"
    return Layout.NOT_SAID, (Unused("how the sensor is connected", why),)


def _zero_of(
    pressures: Sequence[ReadingTaken], limits: Thresholds
) -> tuple[Zero | None, Unused | None]:
    found = [each for each in pressures if each.condition == OFF]
    if not found:
        return None, None
    last = found[-1]
    most = limits["zero_most_mbar"]
    if abs(last.value) > most:
        why = f"more than {most:g} mbar off zero: sensor and hoses first, no pressure is used"
        return None, Unused(f"{last.typed} with the engine off", why)
    own = math.hypot(last.step * _ROUNDED, limits["pressure_own_uncertainty_mbar"])
    return Zero(last.value, own), None


def _idle_held_back(reading: ReadingTaken, zero: Zero | None, limits: Thresholds) -> bool:
    off = 0.0 if zero is None else abs(zero.pressure_mbar)
    return reading.condition == "idle" and off > limits["zero_good_mbar"]


def _at_several_speeds(kept: Sequence[ReadingTaken]) -> frozenset[str]:
    """Conditions of which more than one speed was read."""
    conditions = [each.condition for each in kept]
    return frozenset(each for each in conditions if conditions.count(each) > 1)


def _one_of_each(pressures: Sequence[ReadingTaken], limits: Thresholds) -> list[ReadingTaken]:
    """The last of each condition and speed, in the order of the conditions and then of speed."""
    kept: list[ReadingTaken] = []
    for each in pressures:
        if each.condition not in WORDS:
            continue
        kept = [
            earlier
            for earlier in kept
            if earlier.condition != each.condition or not _same_speed(earlier, each, limits)
        ]
        kept.append(each)
    order = list(WORDS)
    return sorted(kept, key=lambda each: (order.index(each.condition), each.speed_rpm or 0.0))


def _same_speed(one: ReadingTaken, other: ReadingTaken, limits: Thresholds) -> bool:
    """Whether two readings may be of one speed: where either says none, they are."""
    if not one.speed_rpm or not other.speed_rpm or one.condition == "idle":
        return True
    apart = abs(one.speed_rpm - other.speed_rpm)
    return apart <= limits["same_speed_share"] * max(one.speed_rpm, other.speed_rpm)


def _beside(reading: ReadingTaken, quantity: str, around: _Around) -> ReadingTaken | None:
    """The last reading of that quantity at the same condition and speed."""
    found = [
        each
        for each in around.readings
        if each.quantity == quantity
        and each.condition == reading.condition
        and _same_speed(each, reading, around.limits)
    ]
    said = [each for each in found if each.speed_rpm and reading.speed_rpm]
    # Where pressures were read at several speeds, one without its speed may belong to any.
    chosen = said if said or reading.condition in around.at_several_speeds else found
    return chosen[-1] if chosen else None


def _point(reading: ReadingTaken, around: _Around) -> PointTaken:
    limits = around.limits
    temperature = _beside(reading, TEMPERATURE, around)
    corrected = None if around.zero_mbar is None else reading.value - around.zero_mbar
    gas = GasAtFilter(
        None if temperature is None else temperature.value,
        gauge_mbar=max(reading.value if corrected is None else corrected, 0.0),
        barometric_mbar=around.barometric_mbar,
        pressure_uncertainty_mbar=limits["outlet_pressure_uncertainty_mbar"],
    )
    flow, flow_from = _flow(reading, gas, around)
    uncertainty = math.hypot(
        reading.step * _ROUNDED,
        limits["pressure_own_uncertainty_mbar"],
        limits["pressure_steadiness_share"] * abs(reading.value),
    )
    return PointTaken(
        condition=reading.condition,
        speed_rpm=reading.speed_rpm,
        typed=reading.typed,
        corrected_mbar=corrected,
        temperature_c=gas.temperature_c,
        flow_from=flow_from,
        point=PressurePoint(reading.value, uncertainty, flow),
    )


def _flow(reading: ReadingTaken, gas: GasAtFilter, around: _Around) -> tuple[Flow, FlowFrom]:
    limits = around.limits
    exhaust = _beside(reading, EXHAUST_FLOW, around)
    if exhaust is not None and exhaust.value > 0.0:
        mass = exhaust.value * _GRAMS_PER_KG / SECONDS_PER_HOUR
        share = limits["exhaust_flow_uncertainty_share"]
        return flow_from_exhaust_mass(mass, gas, mass * share, limits), FlowFrom.EXHAUST_FLOW
    air = _beside(reading, AIR_FLOW, around)
    if air is not None and air.value > 0.0:
        share = limits["air_flow_uncertainty_share"]
        return flow_from_air_mass(air.value, gas, air.value * share, limits), FlowFrom.AIR_FLOW
    speed_rpm = _speed(reading, around)
    if around.displacement_l is None or speed_rpm is None or reading.condition == "load":
        reason = "neither exhaust flow nor air flow was read"
        return Flow(FlowStatus.NOT_KNOWN, reason, None, None, None, None, None), FlowFrom.NONE
    intake = Intake(around.displacement_l, speed_rpm)
    return flow_from_engine(intake, gas, limits), FlowFrom.ENGINE


def _speed(reading: ReadingTaken, around: _Around) -> float | None:
    if reading.speed_rpm:
        return reading.speed_rpm
    shown = _beside(reading, SPEED, around)
    return None if shown is None or shown.value <= 0.0 else shown.value


def _missing(seen: set[str], layout: Layout, points: Sequence[PointTaken]) -> tuple[str, ...]:
    """What was not read, by name; `seen` are the conditions at which a pressure was."""
    said = []
    if OFF not in seen:
        said.append("the pressure with key on, engine off")
    if layout is Layout.NOT_SAID:
        said.append("how the sensor is connected, two hoses or one")
    said += [f"the pressure {WORDS[each]}" for each in _NEEDED if each not in seen]
    for each in points:
        if each.temperature_c is None:
            said.append(
                f"the exhaust temperature before the filter {each.words}{_at(each, points)}"
            )
        if each.flow_from is FlowFrom.NONE:
            said.append(f"the exhaust flow or air flow {each.words}{_at(each, points)}")
    return tuple(dict.fromkeys(said))


def _at(point: PointTaken, points: Sequence[PointTaken]) -> str:
    """The speed, where that is what tells points of one condition apart."""
    several = sum(each.condition == point.condition for each in points) > 1
    return f", noted with its {point.speed_rpm:g} rpm" if several and point.speed_rpm else ""


def _last(readings: Sequence[ReadingTaken], quantity: str) -> ReadingTaken | None:
    found = [each for each in readings if each.quantity == quantity]
    return found[-1] if found else None

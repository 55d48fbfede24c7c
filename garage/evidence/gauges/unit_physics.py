"""Which units physics excludes for bare numbers, where no known pressure was applied."""

from dataclasses import dataclass
from math import isfinite

from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.units import PA_PER_MBAR, PA_PER_UNIT
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class Shown:
    """Bare numbers as displayed: key on with engine off, idle, raised speed; and the last step."""

    resolution: float
    zero: float | None = None
    idle: float | None = None
    raised: float | None = None


@dataclass(frozen=True, slots=True)
class Excluded:
    """A unit that is excluded, and why."""

    unit: str
    reason: str


@dataclass(frozen=True, slots=True)
class Remaining:
    """A unit that is left, and what must then be so; no condition is an empty text."""

    unit: str
    condition: str


@dataclass(frozen=True, slots=True)
class UnitPhysics:
    """What is left, what is excluded, and the pressure that settles it beside a zero."""

    status: str
    reason: str
    remaining: tuple[Remaining, ...]
    excluded: tuple[Excluded, ...]
    settling_applied_pa: float | None


def units_left(
    shown: Shown, sensor_range_pa: float | None = None, limits: Thresholds = DEFAULTS
) -> UnitPhysics:
    """Answer which units the readings could be in, and why the others could not.

    Returns
    -------
    UnitPhysics
        Status ``one remains``, ``several remain`` or ``none remains``. A low reading excludes no
        unit, since a hose may be off; a sign excludes none, since hoses may be swapped.

    Raises
    ------
    ValueError
        For a value that is not finite, or a step or range that is not above 0.

    Examples
    --------
    >>> told = units_left(Shown(1, 0, 5, 20))
    >>> [each.unit for each in told.excluded]
    ['bar', 'psi', 'inHg']
    """
    _check(shown, sensor_range_pa)
    remaining, excluded = [], []
    for unit, factor in PA_PER_UNIT.items():
        why = _why_not(shown, float(factor), sensor_range_pa, limits)
        if why is not None:
            excluded.append(Excluded(unit, why))
        else:
            remaining.append(Remaining(unit, _condition(shown, float(factor), limits)))
    most = limits["applied_most_pa"]
    settling = most if sensor_range_pa is None else min(most, sensor_range_pa)
    if len(remaining) == 1:
        status, reason = "one remains", f"only {remaining[0].unit} is not excluded"
        return UnitPhysics(status, reason, tuple(remaining), tuple(excluded), None)
    if not remaining:
        status, reason = "none remains", "no unit known here fits: inconsistent reading"
    else:
        status, reason = "several remain", f"{len(remaining)} units are not excluded"
    reason += f"; apply about {settling:.0f} Pa beside a zero"
    return UnitPhysics(status, reason, tuple(remaining), tuple(excluded), settling)


def _check(shown: Shown, range_pa: float | None) -> None:
    values = [v for v in (shown.zero, shown.idle, shown.raised) if v is not None]
    if not all(isfinite(v) for v in values):
        raise ValueError(f"readings are finite; got {values}; leave out what was not read")
    if not (isfinite(shown.resolution) and shown.resolution > 0):
        raise ValueError(
            f"`resolution` is above 0, the display's last step; got {shown.resolution}; "
            "count its decimals"
        )
    if range_pa is not None and not (isfinite(range_pa) and range_pa > 0):
        raise ValueError(f"`sensor_range_pa` is above 0; got {range_pa}; leave out if not known")


def _why_not(shown: Shown, factor: float, range_pa: float | None, limits: Thresholds) -> str | None:
    # Half a step is given away, so that rounding alone excludes nothing.
    slack_pa = shown.resolution * factor / 2
    for name, value in (("zero", shown.zero), ("idle", shown.idle), ("raised", shown.raised)):
        if value is None or range_pa is None:
            continue
        if abs(value) * factor - slack_pa > range_pa:
            return f"{name} would be {value * factor:.0f} Pa, over the range of {range_pa:.0f} Pa"
    zero = 0.0 if shown.zero is None else shown.zero
    # With the zero taken off, two steps were rounded; without it, its offset is not known.
    slack_pa *= 2
    if shown.zero is None:
        slack_pa += limits["zero_most_mbar"] * PA_PER_MBAR
    ways = (("idle", shown.idle), ("raised", shown.raised))
    for name, value in ways:
        if value is None:
            continue
        size_pa, most_pa = abs(value - zero) * factor, limits[f"{name}_any_most_pa"]
        if size_pa - slack_pa > most_pa:
            return f"{name} would be {size_pa:.0f} Pa, over {most_pa:.0f} Pa in any state"
    step_pa = shown.resolution * factor
    if step_pa > limits["idle_any_most_pa"]:
        return f"one step would be {step_pa:.0f} Pa, too coarse to show a filter at idle"
    return None


def _condition(shown: Shown, factor: float, limits: Thresholds) -> str:
    if shown.zero is None or shown.raised is None:
        return ""
    raised_pa = (shown.raised - shown.zero) * factor
    if raised_pa < -limits["idle_near_zero_mbar"] * PA_PER_MBAR:
        return "negative: only with hoses swapped"
    if raised_pa < limits["raised_any_least_pa"]:
        return f"raised is {raised_pa:.0f} Pa: only with a hose fault, or little to flow against"
    return ""

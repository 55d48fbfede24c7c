"""What the readings and their speed say of the pressure hoses."""

from dataclasses import dataclass
from math import isfinite

from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.units import PA_PER_MBAR
from garage.evidence.thresholds import Thresholds

_FOLLOW, _ZERO, _SNAP, _RAISED, _LAYOUT, _LOOK_INSIDE = (
    vocabulary().finding(key).check
    for key in ("hoses", "zero", "response", "raised_pressure", "layout", "filter_looked_at")
)


@dataclass(frozen=True, slots=True)
class HoseReadings:
    """Readings in Pa as shown, and times in s; None where not taken.

    ``moved`` is False where the reading stood still in a snap of the engine speed.
    ``filter_seen_sound`` and ``blown_through`` part a hose off from a filter gone or one blocked.
    """

    zero_pa: float | None = None
    idle_pa: float | None = None
    raised_pa: float | None = None
    moved: bool | None = None
    response_s: float | None = None
    fall_after_off_s: float | None = None
    one_hose: bool | None = None
    filter_seen_sound: bool = False
    blown_through: bool = False


@dataclass(frozen=True, slots=True)
class HosesTold:
    """Finding states ``hoses`` and ``response`` as in the vocabulary; None where not told."""

    status: str
    hoses: str | None
    response: str | None
    reason: str
    next_check: str | None


def hoses_told(readings: HoseReadings, limits: Thresholds = DEFAULTS) -> HosesTold:
    """Answer whether the hoses are sound, swapped, off or blocked, as far as readings tell.

    Raises ValueError for a value that is not finite, or a time below 0. Common practice, no source.

    Examples
    --------
    >>> hoses_told(HoseReadings(0, -400, -1800, moved=True, response_s=0.3, one_hose=False)).hoses
    'swapped'
    """
    _check(readings)
    response = _response(readings, limits)
    hoses, reason, following = _hoses(readings, response, limits)
    status = "cannot be told" if hoses is None else "told"
    return HosesTold(status, hoses, response, reason, following)


def _check(readings: HoseReadings) -> None:
    times = (readings.response_s, readings.fall_after_off_s)
    pressures = (readings.zero_pa, readings.idle_pa, readings.raised_pa)
    if any(v is not None and not isfinite(v) for v in (*times, *pressures)):
        raise ValueError(f"readings are finite; got {readings}; leave out what was not read")
    if any(v is not None and v < 0 for v in times):
        raise ValueError(f"times are 0 s or more; got {times}; leave out what was not timed")
    if readings.moved is False and readings.response_s is not None:
        raise ValueError(
            f"a reading that did not move has no `response_s`; got {readings.response_s}; "
            "leave one out"
        )


def _response(readings: HoseReadings, limits: Thresholds) -> str | None:
    if readings.moved is False:
        return "stuck"
    if readings.response_s is None:
        return None
    return "prompt" if readings.response_s <= limits["response_prompt_s"] else "slow"


def _hoses(
    readings: HoseReadings, response: str | None, limits: Thresholds
) -> tuple[str | None, str, str | None]:
    if readings.zero_pa is None:
        return None, "zero not read, so an offset could pass for a hose", _ZERO
    if readings.idle_pa is None or readings.raised_pa is None:
        return None, "growth from idle to raised speed not known", _RAISED
    held_s = readings.fall_after_off_s
    if held_s is not None and held_s > limits["holds_after_off_s"]:
        return "blocked", "holds its pressure after switching off", None
    idle = readings.idle_pa - readings.zero_pa
    raised = readings.raised_pa - readings.zero_pa
    near = limits["idle_near_zero_mbar"] * PA_PER_MBAR
    grows = raised - idle > max(near, limits["follows_share"] * abs(idle))
    if raised < -near and raised < idle:
        return _negative(readings)
    if abs(idle) <= near and abs(raised) <= near:
        return _flat(readings, response)
    if response in ("slow", "stuck"):
        if not grows or response == "slow":
            return "blocked", f"the reading is {response}, away from zero", None
        return None, "grows with speed, yet stood still in a snap: inconsistent reading", _SNAP
    if not grows:
        return None, "away from zero, yet does not grow with speed: inconsistent reading", _SNAP
    if response is None:
        return None, "grows with speed; how fast it follows is not known", _SNAP
    if raised < limits["raised_sound_least_mbar"] * PA_PER_MBAR:
        return None, "follows, but lower than through a sound filter; a leak may be why", _FOLLOW
    return "sound", "grows with speed and follows at once; a small leak is not excluded", None


def _negative(readings: HoseReadings) -> tuple[str | None, str, str | None]:
    if readings.one_hose is None:
        return None, "negative and mirrored; swapped only where there are two hoses", _LAYOUT
    if readings.one_hose:
        return None, "negative with one hose, which cannot be swapped: inconsistent reading", _ZERO
    return "swapped", "falls below zero as the engine speed rises", None


def _flat(readings: HoseReadings, response: str | None) -> tuple[str | None, str, str | None]:
    if readings.filter_seen_sound and readings.blown_through:
        return "off", "no pressure arrives, hoses are free and the filter is sound", None
    reason = "near zero and without growth: a hose off or blocked, or little to flow against"
    if response is None and not readings.blown_through:
        return None, reason, _FOLLOW
    return None, reason, _LOOK_INSIDE if readings.blown_through else _FOLLOW

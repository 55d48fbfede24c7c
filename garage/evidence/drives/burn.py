"""Judges a fall of modelled soot: burned to the end, broken off, or set back without a burn."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from garage.evidence.drives.falls import Fall, falls_found
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.thresholds import Thresholds

_Numbers = npt.NDArray[np.float64]
_S_PER_MIN = 60.0


class BurnStatus(StrEnum):
    """What the log shows of a burn."""

    COMPLETED = "completed"
    BROKEN_OFF = "broken_off"
    RESET_WITHOUT_BURN = "reset_without_burn"
    """The reckoned value was set back: it fell faster than soot burns, or without heat."""
    CANNOT_BE_TOLD = "cannot_be_told"


@dataclass(frozen=True, slots=True)
class BurnJudged:
    """One burn judged by the greatest fall of soot in its log.

    Attributes
    ----------
    status : BurnStatus
    reason : str
    falls : int
        Falls in the log; only the greatest is judged.
    fall_g, end_g, fall_min : float or None
        How far, to what, and in which time soot fell; None where it did not.
    fastest_g_per_min : float or None
        The greatest fall within a minute, or between two rows further apart.
    soot_fall_inlet_c : float or None
        Highest inlet temperature while soot fell; None where none was logged.
    hot_min : float or None
        Time above the heat of a burn, while soot fell and in the half hour before.
    """

    status: BurnStatus
    reason: str
    falls: int
    fall_g: float | None = None
    end_g: float | None = None
    fall_min: float | None = None
    fastest_g_per_min: float | None = None
    soot_fall_inlet_c: float | None = None
    hot_min: float | None = None


@dataclass(frozen=True, slots=True)
class _Heat:
    """The inlet temperature around a fall.

    `during_c` is the highest while soot fell, `gap_s` the longest time without a temperature
    then; `hot_at_end` whether it was hot when the log ended.
    """

    during_c: float | None
    gap_s: float
    hot_min: float
    hot_at_end: bool


@dataclass(frozen=True, slots=True)
class _Case:
    """What the rules look at."""

    start_g: float
    end_g: float
    minutes: float
    fastest: float
    heat: _Heat | None
    ends_with_log: bool


def burn_judged(drive: Drive, limits: Thresholds = DEFAULTS) -> BurnJudged:
    """Answer whether soot burned in this log, to the end or not, or whether its value was set back.

    Soot that falls faster than it can oxidise was not burned. A fall without the heat of a burn
    was not one either, unless it was slow and warm enough for soot to go on the road, or hot
    enough for a fuel additive. A completed burn is hot for some minutes and leaves little soot.
    What the log leaves open cannot be told; a value set back may be right, as after work on the
    filter.

    Parameters
    ----------
    drive : Drive
        With ``time_s`` and ``soot_g``; ``inlet_c`` where logged.
    limits : Thresholds

    Returns
    -------
    BurnJudged
        Grams, minutes, °C.

    Raises
    ------
    ValueError
        For a drive without time or soot.

    Examples
    --------
    >>> minutes = range(21)
    >>> log = Drive(21, time_s=tuple(60.0 * m for m in minutes),
    ...     soot_g=tuple(20.0 - 0.9 * m for m in minutes), inlet_c=(610.0,) * 21)
    >>> judged = burn_judged(log)
    >>> judged.status.value, judged.soot_fall_inlet_c, judged.hot_min
    ('completed', 610.0, 20.0)
    """
    seconds, soot = drive.together("time_s", "soot_g")
    falls = falls_found(soot.tolist(), limits["soot_fall_least_g"])
    if not falls:
        return _no_fall(drive, limits)
    fall = max(falls, key=lambda each: each.drop_g)
    case = _Case(
        start_g=float(soot[fall.start]),
        end_g=float(soot[fall.end]),
        minutes=float(seconds[fall.end] - seconds[fall.start]) / _S_PER_MIN,
        fastest=_fastest(seconds[fall.start : fall.end + 1], soot[fall.start : fall.end + 1]),
        heat=_heat(drive, fall, seconds, limits),
        ends_with_log=fall.end == len(soot) - 1,
    )
    status, reason = _judged(case, limits)
    said = f"{fall.drop_g:.1f} g in {case.minutes:.1f} min, to {case.end_g:.1f} g: {reason}"
    return BurnJudged(
        status=status,
        reason=said,
        falls=len(falls),
        fall_g=fall.drop_g,
        end_g=case.end_g,
        fall_min=case.minutes,
        fastest_g_per_min=case.fastest,
        soot_fall_inlet_c=None if case.heat is None else case.heat.during_c,
        hot_min=None if case.heat is None else case.heat.hot_min,
    )


def _judged(case: _Case, limits: Thresholds) -> tuple[BurnStatus, str]:
    heat = case.heat
    if case.fastest > limits["oxidation_fastest_g_per_min"]:
        words = f"up to {case.fastest:.1f} g/min, faster than soot burns"
        if heat is not None and heat.hot_min > 0:
            words += ", but it was hot: a burn may have run before the value was set"
            return BurnStatus.CANNOT_BE_TOLD, words
        return BurnStatus.RESET_WITHOUT_BURN, f"{words}; the value was set back"
    if heat is None or heat.during_c is None:
        return BurnStatus.CANNOT_BE_TOLD, "no inlet temperature was logged while soot fell"
    if heat.during_c <= limits["burn_proven_c"]:
        return _without_heat(case, heat, heat.during_c, limits)
    return _hot(case, heat, limits)


def _without_heat(
    case: _Case, heat: _Heat, during_c: float, limits: Thresholds
) -> tuple[BurnStatus, str]:
    words = f"inlet at most {during_c:g} °C"
    if heat.hot_min > 0:
        words += f", but {heat.hot_min:.1f} min hot before: a burn may have run"
        return BurnStatus.CANNOT_BE_TOLD, words
    if heat.gap_s > limits["temperature_gap_s"]:
        words += f", but for {heat.gap_s:.0f} s none was logged"
        return BurnStatus.CANNOT_BE_TOLD, words
    if during_c >= limits["additive_burn_c"]:
        words += ": with a fuel additive soot burns at this, without one not"
        return BurnStatus.CANNOT_BE_TOLD, words
    mean = (case.start_g - case.end_g) / case.minutes if case.minutes > 0 else case.fastest
    slow = mean <= limits["passive_fastest_g_per_min"]
    if slow and during_c >= limits["passive_least_c"]:
        words += f", {mean:.2f} g/min: slow and warm enough for soot to go without a burn"
        return BurnStatus.CANNOT_BE_TOLD, words
    return BurnStatus.RESET_WITHOUT_BURN, f"{words}; set back, no burn is shown"


def _hot(case: _Case, heat: _Heat, limits: Thresholds) -> tuple[BurnStatus, str]:
    words = f"inlet up to {heat.during_c:g} °C, {heat.hot_min:.1f} min hot"
    little = case.end_g <= limits["burn_left_share"] * case.start_g
    if little and heat.hot_min >= limits["burn_least_min"]:
        return BurnStatus.COMPLETED, f"{words}; completed"
    if little:
        return BurnStatus.CANNOT_BE_TOLD, f"{words}: little is left, after less heat than a burn's"
    if heat.hot_at_end or case.ends_with_log:
        return BurnStatus.CANNOT_BE_TOLD, f"{words}: the log ends before the burn does"
    return BurnStatus.BROKEN_OFF, f"{words}; it ended with much soot left"


def _no_fall(drive: Drive, limits: Thresholds) -> BurnJudged:
    least = limits["soot_fall_least_g"]
    words = f"soot does not fall by {least:g} g in this log"
    if drive.inlet_c is None:
        return BurnJudged(BurnStatus.CANNOT_BE_TOLD, words, 0)
    seconds, inlet = drive.together("time_s", "inlet_c")
    if not len(seconds):
        words += ", and no inlet temperature was read"
        return BurnJudged(BurnStatus.CANNOT_BE_TOLD, words, 0)
    (all_s,) = drive.together("time_s")
    gap_s = float(np.diff(np.concatenate((all_s[:1], seconds, all_s[-1:]))).max())
    hot = _hot_min(seconds, inlet, limits)
    if hot < limits["burn_least_min"] and gap_s > limits["temperature_gap_s"]:
        words += f", but for {gap_s:.0f} s no inlet temperature was logged: one may have begun"
    elif hot < limits["burn_least_min"]:
        words += f", and it is not hot for {limits['burn_least_min']:g} min: none begun in it"
    elif inlet[-1] > limits["burn_proven_c"]:
        words += f", {hot:.1f} min hot: the log ends before the burn does"
    else:
        words += f", {hot:.1f} min hot and cool again: begun and ended"
        return BurnJudged(BurnStatus.BROKEN_OFF, words, 0, hot_min=hot)
    return BurnJudged(BurnStatus.CANNOT_BE_TOLD, words, 0, hot_min=hot)


def _fastest(seconds: _Numbers, soot: _Numbers) -> float:
    """Greatest fall per minute, over windows of a minute, or two rows where further apart.

    A step of the display within a second is not a rate: shorter windows count as a minute.
    """
    ends = np.searchsorted(seconds, seconds + _S_PER_MIN, side="right") - 1
    ends = np.minimum(np.maximum(ends, np.arange(len(seconds)) + 1), len(seconds) - 1)
    minutes = np.maximum(seconds[ends] - seconds, _S_PER_MIN) / _S_PER_MIN
    return max(0.0, float(((soot - soot[ends]) / minutes).max()))


def _heat(drive: Drive, fall: Fall, at_s: _Numbers, limits: Thresholds) -> _Heat | None:
    if drive.inlet_c is None:
        return None
    seconds, inlet = drive.together("time_s", "inlet_c")
    if not len(seconds):
        return None
    start, end = float(at_s[fall.start]), float(at_s[fall.end])
    during = (seconds >= start) & (seconds <= end)
    marks = np.concatenate(([start], seconds[during], [end]))
    near = (seconds >= start - limits["heat_before_fall_min"] * _S_PER_MIN) & (seconds <= end)
    return _Heat(
        during_c=float(inlet[during].max()) if during.any() else None,
        gap_s=float(np.diff(marks).max()),
        hot_min=_hot_min(seconds[near], inlet[near], limits),
        hot_at_end=bool(inlet[-1] > limits["burn_proven_c"]),
    )


def _hot_min(seconds: _Numbers, inlet: _Numbers, limits: Thresholds) -> float:
    """Minutes between neighbouring rows that are both hot; a longer gap counts for none."""
    steps = np.diff(seconds)
    hot = inlet > limits["burn_proven_c"]
    counted = hot[:-1] & hot[1:] & (steps <= limits["temperature_gap_s"])
    return float(steps[counted].sum()) / _S_PER_MIN

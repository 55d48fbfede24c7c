"""Questions about gauges put to the evidence, and its answers as they are written out."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from garage.evidence.gauges.gauge_error import gauge_uncertainty_pa
from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.sensor_check import Known, Point, Told, sensor_checked
from garage.evidence.gauges.typed import Typed
from garage.evidence.gauges.unit_inference import Fit, Pair, UnitInference, unit_inferred
from garage.evidence.gauges.unit_physics import Shown, UnitPhysics, units_left
from garage.evidence.thresholds import Override

Said = Mapping[str, Any]


def unit_asked(said: Said) -> dict[str, Any]:
    """Which unit does a display show, by what was sent?"""
    pairs, bare, range_pa = said["pairs"], said.get("bare"), said.get("sensor_range_pa")
    by_pairs = unit_inferred([_pair(each) for each in pairs], range_pa) if pairs else None
    by_physics = units_left(_shown(bare), range_pa) if bare else None
    return {
        "by_pairs": None if by_pairs is None else _inferred_told(by_pairs, len(pairs)),
        "by_physics": None if by_physics is None else _physics_told(by_physics),
    }


def sensor_asked(said: Said) -> dict[str, Any]:
    """Does the sensor read true, by what was sent?"""
    limits, share = DEFAULTS, said.get("tolerance_share")
    if share is not None:
        limits = DEFAULTS.overridden([Override("reading_tolerance_share", share, "as sent")])
    points, at_rest = said["points"], said["at_rest"]
    applied_step_pa = max(_pa(each["applied"].step, each["unit"]) for each in points)
    indicated = [(each["indicated"], each["unit"]) for each in (*points, *at_rest)]
    known = Known(
        gauge_uncertainty_pa(said["gauge_error_pa"], applied_step_pa),
        max(_pa(number.step, unit) for number, unit in indicated),
    )
    told = sensor_checked(
        [_point(each) for each in points],
        [_pa(each["indicated"].value, each["unit"]) for each in at_rest],
        known,
        said.get("sound_idle_pa"),
        limits,
    )
    measures = ("zero", "gain", "linearity", "hysteresis")
    return {
        **asdict(told),
        **{name: _measure_told(getattr(told, name)) for name in measures},
        "n": len(points),
        "n_at_rest": len(at_rest),
    }


def _pa(number: Any, factor: Fraction) -> float:
    return float(Fraction(number) * factor)


def _pair(said: Said) -> Pair:
    applied: Typed = said["applied"]
    shown: Typed = said["shown"]
    factor: Fraction = said["applied_unit"]
    error_pa = said["applied_error"] * float(factor)
    return Pair(
        applied_pa=_pa(applied.value, factor),
        shown=float(shown.value),
        shown_resolution=float(shown.step),
        applied_uncertainty_pa=gauge_uncertainty_pa(error_pa, _pa(applied.step, factor)),
    )


def _shown(said: Said) -> Shown:
    numbers: dict[str, Typed] = dict(said)
    return Shown(
        # The coarsest digits sent: a display does not change its steps.
        float(max(each.step for each in numbers.values())),
        **{name: float(each.value) for name, each in numbers.items()},
    )


def _point(said: Said) -> Point:
    return Point(
        _pa(said["applied"].value, said["unit"]),
        _pa(said["indicated"].value, said["unit"]),
        said["rising"],
    )


def _inferred_told(told: UnitInference, n: int) -> dict[str, Any]:
    return {
        "status": told.status,
        "reason": told.reason,
        "n": n,
        "unit": told.unit,
        "candidates": [asdict(each) for each in told.candidates],
        "fit": None if told.fit is None else _fit_told(told.fit),
        "next_applied_pa": told.next_applied_pa,
    }


def _fit_told(fit: Fit) -> dict[str, float]:
    (slope_lower, slope_upper) = fit.slope_limits_per_pa
    (offset_lower, offset_upper) = fit.offset_limits_shown
    return {
        "slope_per_pa": fit.slope_per_pa,
        "slope_lower_per_pa": slope_lower,
        "slope_upper_per_pa": slope_upper,
        "offset_shown": fit.offset_shown,
        "offset_lower_shown": offset_lower,
        "offset_upper_shown": offset_upper,
    }


def _physics_told(told: UnitPhysics) -> dict[str, Any]:
    return {**asdict(told)}


def _measure_told(told: Told) -> dict[str, Any]:
    limits: Sequence[float | None] = (None, None) if told.limits is None else told.limits
    return {
        "value": told.value,
        "lower": limits[0],
        "upper": limits[1],
        "verdict": told.verdict,
        "reason": told.reason,
    }

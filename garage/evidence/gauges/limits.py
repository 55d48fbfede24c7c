"""Thresholds of this package: what judgement or practice says of gauges, displays and hoses."""

from dataclasses import replace

from garage.evidence.findings.limits import limits_shared
from garage.evidence.thresholds import Basis, Threshold, Thresholds


def _judged(key: str, value: float, unit: str, title: str) -> Threshold:
    return Threshold(key, value, unit, title, Basis.JUDGEMENT)


LIMITS: tuple[Threshold, ...] = (
    _judged("sound_gain_spread_share", 0.02, "", "gain error of a sound sensor, standard"),
    replace(
        _judged("unit_decided_probability", 0.95, "", "probability that decides a unit"), least=0.5
    ),
    _judged("unit_changed_probability", 0.01, "", "chance that a display's unit was set anew"),
    _judged("applied_least_pa", 2_000.0, "Pa", "least pressure worth applying by hand pump"),
    # An own value may only be lower: more than this is never asked for.
    replace(
        _judged("applied_most_pa", 30_000.0, "Pa", "most pressure safe to apply to a sensor"),
        least=2_000.0,
        most=30_000.0,
    ),
    _judged("reading_tolerance_share", 0.05, "", "departure of a true sensor, share of reading"),
    _judged("follows_share", 0.10, "", "least growth with speed, share of the idle reading"),
    _judged("response_prompt_s", 1.0, "s", "longest response to a snap that counts as prompt"),
    _judged("holds_after_off_s", 10.0, "s", "longest fall to zero after switching off"),
    _judged("idle_any_most_pa", 20_000.0, "Pa", "highest idle reading in any state"),
    replace(
        _judged("raised_any_least_pa", 50.0, "Pa", "least raised reading through a fitted filter"),
        least=5.0,
        most=2_000.0,
    ),
    replace(
        _judged("raised_any_most_pa", 60_000.0, "Pa", "highest raised reading in any state"),
        least=1_000.0,
        most=200_000.0,
    ),
)
DEFAULTS = Thresholds(
    (
        *LIMITS,
        *limits_shared(
            "zero_good_mbar", "zero_most_mbar", "idle_near_zero_mbar", "raised_sound_least_mbar"
        ),
    )
)

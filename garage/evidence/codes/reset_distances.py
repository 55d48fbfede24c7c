"""Whether a vehicle's own distances, hours and burns fit each other and the visit before."""

from fractions import Fraction
from itertools import combinations

from garage.evidence.codes.reset_limits import DEFAULTS
from garage.evidence.codes.reset_signs import (
    NOTHING_RECORDED,
    Number,
    Recorded,
    ResetSign,
    Sign,
    VisitCounts,
    Work,
)
from garage.evidence.quantities.units import Dimension, converted, unit_of
from garage.evidence.thresholds import Thresholds
from garage.lifetimes.wording import spoken

_LAST = "on record before"


def mean_speed(visit: VisitCounts, limits: Thresholds = DEFAULTS) -> ResetSign:
    """Was the vehicle's life town and idling, by its odometer and the hours run?

    Shown below `mean_speed_low_km_h`, where soot gathers. Distance in km, time in h. Common
    practice, no source.

    Examples
    --------
    >>> told = VisitCounts(odometer_km=80_000, odometer_trusted=True, run_hours=4000)
    >>> mean_speed(told).words
    '20 km/h over its life: town and idling, where soot gathers'
    """
    rule, km, hours = "mean_speed", visit.odometer_km, visit.run_hours
    if km is None or not visit.odometer_trusted or hours is None or hours <= 0:
        words = "needs an odometer that is trusted, and the hours run by the engine"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words)
    speed = km / hours
    numbers = (
        Number("odometer", km, "km"),
        Number("hours run by the engine", hours, "h"),
        Number("mean speed", speed, "km/h"),
    )
    said = f"{speed:.0f} km/h over its life"
    if speed > limits["mean_speed_most_km_h"]:
        words = f"{said}: hours and odometer are not of one life; was a controller changed?"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words, numbers=numbers)
    if speed >= limits["mean_speed_low_km_h"]:
        roads = "long roads" if speed > limits["mean_speed_high_km_h"] else "mixed roads"
        return ResetSign(rule, Sign.NOT_SHOWN, f"{said}: {roads}", numbers=numbers)
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"{said}: town and idling, where soot gathers",
        ("work at standstill with a power take-off", "a changed engine or controller"),
        "Ask how the vehicle is used, and whether burns come to an end.",
        numbers,
    )


def burns_closer(
    earlier: VisitCounts | None,
    later: VisitCounts,
    recorded: Recorded = NOTHING_RECORDED,
    limits: Thresholds = DEFAULTS,
) -> ResetSign:
    """Have burns come closer together since the visit before, by the vehicle's own mean?

    Distances in km. That they do as soot gathers faster is common practice, no source; how far a
    fall tells is judgement. New software or a new controller may begin the mean anew.

    Examples
    --------
    >>> burns_closer(VisitCounts(burn_interval_km=500), VisitCounts(burn_interval_km=300)).words
    'the mean distance between burns fell from 500 to 300 km'
    """
    rule = "burns_closer"
    before = None if earlier is None else earlier.burn_interval_km
    now = later.burn_interval_km
    if before is None or now is None or before <= 0:
        words = "needs the vehicle's mean distance between burns at both visits"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words)
    numbers = (
        Number("mean distance between burns, before", before, "km"),
        Number("mean distance between burns, now", now, "km"),
    )
    if recorded & {Work.REPROGRAMMING, Work.CONTROLLER}:
        words = "software or controller work may have begun the mean anew"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words, numbers=numbers)
    if (before - now) / before < limits["burn_interval_fall_share"]:
        words = f"burns have not come closer: {before:.0f} km apart, now {now:.0f}"
        return ResetSign(rule, Sign.NOT_SHOWN, words, numbers=numbers)
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"the mean distance between burns fell from {before:.0f} to {now:.0f} km",
        ("shorter trips, or cold weather", "a burn asked for at a workshop"),
        "Ask what changed in its use; look for what makes soot upstream of the filter.",
        numbers,
    )


def odometers_differ(
    earlier: VisitCounts | None, later: VisitCounts, limits: Thresholds = DEFAULTS
) -> ResetSign:
    """Do the dashboard, the control unit, the fuel monitoring and the last record differ?

    Shown beyond `odometers_differ_km` or `odometers_differ_share` of the larger, whichever is less;
    and where one stands so far below a trusted odometer of the visit before. Distances in km.
    Common practice, no source.

    Examples
    --------
    >>> told = VisitCounts(odometer_km=60_000, on_board_odometer_km=96_561)
    >>> odometers_differ(None, told).words
    'dashboard 60 000 km, control unit 96 561 km: one may be in miles'
    """
    rule = "odometers_differ"
    now = _distances(later)
    last = earlier.odometer_km if earlier is not None and earlier.odometer_trusted else None
    others = [each for each in now if each.title != "dashboard"]
    numbers = tuple(now) if last is None else (*now, Number(_LAST, last, "km"))
    if not others or len(numbers) < 2:
        words = "needs the control unit's or the fuel monitoring's odometer, and one beside it"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words, numbers=numbers)
    apart = [(one, two) for one, two in combinations(now, 2) if _differ(one, two, limits)]
    if last is not None:
        record = Number(_LAST, last, "km")
        apart += [
            (each, record) for each in others if each.value < last and _differ(each, record, limits)
        ]
    if not apart:
        return ResetSign(rule, Sign.NOT_SHOWN, "the odometers agree", numbers=numbers)
    return ResetSign(
        rule,
        Sign.SHOWN,
        "; ".join(_said(one, two, limits) for one, two in apart),
        (
            "one of them shown in miles",
            "a figure typed wrongly",
            "a changed instrument cluster or control unit",
        ),
        "Read both again with their units; ask for papers of a changed cluster or control unit.",
        numbers,
    )


def _distances(visit: VisitCounts) -> list[Number]:
    told = (
        ("dashboard", visit.odometer_km),
        ("control unit", visit.on_board_odometer_km),
        ("fuel monitoring", visit.fuel_monitor_km),
    )
    return [Number(title, value, "km") for title, value in told if value is not None]


def _differ(one: Number, two: Number, limits: Thresholds) -> bool:
    share = limits["odometers_differ_share"] * max(one.value, two.value)
    return abs(one.value - two.value) > min(limits["odometers_differ_km"], share)


def _said(one: Number, two: Number, limits: Thresholds) -> str:
    figures = ", ".join(f"{each.title} {spoken(round(each.value), 'km')}" for each in (one, two))
    less, more = sorted((one.value, two.value))
    in_km = Number("", less * _km_in_a_mile(), "km")
    if two.title != _LAST and not _differ(in_km, Number("", more, "km"), limits):
        return f"{figures}: one may be in miles"
    return f"{figures}: {spoken(round(more - less), 'km')} apart"


def _km_in_a_mile() -> float:
    mile, km = (unit_of(each, Dimension.DISTANCE) for each in ("mi", "km"))
    if mile is None or km is None:
        raise LookupError("a mile and a kilometre are units of distance")
    return float(converted(Fraction(1), mile, km))

"""From a burn judged and burn intervals to findings, each with its numbers in words."""

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.intervals import BurnIntervals, IntervalTrend
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.findings.grade import Grade, held_of
from garage.evidence.thresholds import Thresholds

_FALL_STATES = {
    BurnStatus.COMPLETED: "burned",
    BurnStatus.BROKEN_OFF: "burned",
    BurnStatus.RESET_WITHOUT_BURN: "without_heat",
}
_END_STATES = {BurnStatus.COMPLETED: "completed", BurnStatus.BROKEN_OFF: "broken_off"}


def burn_grades(judged: BurnJudged, limits: Thresholds = DEFAULTS) -> tuple[Grade, ...]:
    """Answer what one burn says of `soot_fall` and `burn_end`.

    The state is None where the log leaves it open; the words say why.

    Examples
    --------
    >>> grades = burn_grades(BurnJudged(BurnStatus.COMPLETED, "16 g in 18 min", 1, fall_g=16.0))
    >>> [(grade.finding, grade.state) for grade in grades]
    [('soot_fall', 'burned'), ('burn_end', 'completed')]
    """
    fall_keys = ("burn_proven_c", "oxidation_fastest_g_per_min", "soot_fall_least_g")
    fell = None if judged.fall_g is None else _FALL_STATES.get(judged.status)
    return (
        Grade("soot_fall", fell, judged.reason, held_of(limits, *fall_keys)),
        Grade(
            "burn_end",
            _END_STATES.get(judged.status),
            f"{judged.reason} (one burn)",
            held_of(limits, "burn_proven_c", "burn_least_min", "burn_left_share"),
        ),
    )


def interval_grade(found: BurnIntervals, limits: Thresholds = DEFAULTS) -> Grade:
    """Answer what several burns say of `burn_interval`.

    Shrinking goes before short, as the mean says little then. Where the limits of the mean hold
    a threshold, short, usual or long cannot be told.

    Examples
    --------
    >>> from garage.evidence.drives.intervals import burn_intervals
    >>> interval_grade(burn_intervals([0, 400, 810, 1205])).state
    'usual'
    """
    held = held_of(limits, "interval_short_km", "interval_long_km")
    if found.trend is IntervalTrend.FALLING:
        return Grade("burn_interval", "shrinking", found.reason, held)
    low = found.mean_km if found.low_km is None else found.low_km
    high = found.mean_km if found.high_km is None else found.high_km
    said = f"{found.mean_km:.0f} km between burns, 95 % limits {low:.0f} to {high:.0f}"
    if found.low_km is None:
        said = f"{found.mean_km:.0f} km between two burns, one interval"
    states = {_state(low, limits), _state(high, limits)}
    if len(states) > 1:
        return Grade("burn_interval", None, f"{said}: more intervals are needed", held)
    return Grade("burn_interval", states.pop(), said, held)


def _state(km: float, limits: Thresholds) -> str:
    if km < limits["interval_short_km"]:
        return "short"
    return "long" if km > limits["interval_long_km"] else "usual"

"""Whether a vehicle's readings contradict one another: the quick look that clean histories pass."""

from collections.abc import Sequence
from statistics import median

#: A later reading may be this much lower without being a conflict: rounding, and a reading noted
#: before the road test. Common practice, no source.
BACKWARDS_SLACK_KM = 50
#: No road vehicle does more in a day. Common practice, no source.
HARD_PACE_KM_PER_DAY = 1_200
#: Possible, but rarely true; a trace only together with the next limit. Common practice, no source.
SOFT_PACE_KM_PER_DAY = 400
#: So many times the vehicle's own pace, the median over its other stretches. Judgement, no source.
SOFT_PACE_TIMES_OWN = 4


def leaves_trace(days: Sequence[int], km: Sequence[int], first_used_day: int | None = None) -> bool:
    """Whether these readings, in the order of day and km, cannot well all be true.

    A fall beyond the slack, a pace no vehicle has, or one that is rare and far above this
    vehicle's own. Both days of a stretch count, and so does the day of first use.
    """
    if first_used_day is not None:
        for day, at in zip(days, km, strict=True):
            if at > HARD_PACE_KM_PER_DAY * (day - first_used_day + 1):
                return True
    fast = False
    for place in range(1, len(km)):
        step = km[place] - km[place - 1]
        allowed = days[place] - days[place - 1] + 1
        if beyond_reach(step, allowed):
            return True
        fast = fast or step > SOFT_PACE_KM_PER_DAY * allowed
    return fast and _has_pace_unlike_its_own(days, km)


def beyond_reach(step_km: int, days: int) -> bool:
    """Whether two readings so far apart, both days counted, cannot both be true."""
    return step_km < -BACKWARDS_SLACK_KM or step_km > HARD_PACE_KM_PER_DAY * days


def _has_pace_unlike_its_own(days: Sequence[int], km: Sequence[int]) -> bool:
    paces = [
        (km[i] - km[i - 1]) / (days[i] - days[i - 1] + 1) for i in range(1, len(km))
    ]  # km a day
    for place, pace in enumerate(paces):
        others = paces[:place] + paces[place + 1 :]
        if others and pace > SOFT_PACE_KM_PER_DAY and pace > SOFT_PACE_TIMES_OWN * median(others):
            return True
    return False

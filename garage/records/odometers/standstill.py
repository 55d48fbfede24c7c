"""Vehicles that seem to have stood still for long although they came to jobs in between."""

from collections.abc import Sequence

from garage.records.odometers.trace import BACKWARDS_SLACK_KM

#: As long without distance, with jobs at both ends, is worth a question. Common practice (0 km
#: over more than 12 months with jobs between).
STANDSTILL_DAYS = 365
#: A vehicle that does not go so far in the rest of its time does not drive otherwise either.
#: Judgement, no source.
DRIVES_KM_PER_YEAR = 2_000
_DAYS_PER_YEAR = 365.25


def standstills(days: Sequence[int], km: Sequence[int], at_job: Sequence[bool]) -> list[int]:
    """Places of the job readings that show no distance since a job long before.

    Of readings that stand, in the order of day and km.
    """
    found = []
    first = 0
    for place in range(1, len(km)):
        if km[place] - km[place - 1] > BACKWARDS_SLACK_KM:
            first = place
            continue
        if not at_job[place] or days[place] - days[first] < STANDSTILL_DAYS:
            continue
        earlier = [
            other
            for other in range(first, place)
            if at_job[other]
            and days[place] - days[other] >= STANDSTILL_DAYS
            and km[place] - km[other] <= BACKWARDS_SLACK_KM
        ]
        if earlier and _drives_otherwise(days, km, earlier[0], place):
            found.append(place)
    return found


def _drives_otherwise(days: Sequence[int], km: Sequence[int], start: int, end: int) -> bool:
    rest_days = days[-1] - days[0] - (days[end] - days[start])
    rest_km = km[-1] - km[0] - (km[end] - km[start])
    return rest_days > 0 and rest_km >= DRIVES_KM_PER_YEAR * rest_days / _DAYS_PER_YEAR

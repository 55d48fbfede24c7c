"""Which odometer readings of one vehicle stand, and which are in doubt, and why.

A reading in doubt is set aside alone: the largest set of readings that can all be true together
stands, so that one slip condemns nothing but itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from garage.records.choices import Doubt
from garage.records.distance import KM_PER_MILE

#: A later reading may be this much lower without being a conflict: rounding, and a reading noted
#: before the road test. Common practice, no source.
BACKWARDS_SLACK_KM = 50
#: No road vehicle does more in a day. Common practice, no source.
HARD_PACE_KM_PER_DAY = 1_200
#: Possible, but rarely true: between two histories of equal size the one without such a day
#: stands. Common practice, no source.
SOFT_PACE_KM_PER_DAY = 400
#: What such a stretch costs, in readings: less than one, so that it never outvotes a reading.
SOFT_PACE_COST = 0.25
#: How near the ratio to the expected distance must be to the mile's to name the unit: 2 %, and
#: the interpolation's own error beside it. Judgement.
UNIT_RATIO_TOLERANCE = 0.03


@dataclass(frozen=True)
class Reading:
    """A reading's day and true distance, with the offset of its instrument already added."""

    read_on: date
    km: int


@dataclass(frozen=True)
class Judgement:
    """A reading's verdict: `doubt` is None where it stands."""

    doubt: Doubt | None
    reason: str


STANDS = Judgement(None, "")


def readings_judge(
    readings: Sequence[Reading], *, first_used_on: date | None = None
) -> list[Judgement]:
    """The verdict on each reading of one vehicle, in the order given.

    Two readings can both be true if the later is not lower (beyond a small slack) and the days
    between allow the distance. The largest set of readings that can all be true stands; of two
    sets of one size the one with the calmer pace, and then the one that keeps the earlier
    readings.
    """
    count = len(readings)
    verdicts = [STANDS] * count
    usable = []
    for index, reading in enumerate(readings):
        if first_used_on is not None and reading.read_on < first_used_on:
            verdicts[index] = Judgement(
                Doubt.BEFORE_FIRST_USE,
                f"read on {reading.read_on}, but the vehicle was first used on {first_used_on}",
            )
        else:
            usable.append(index)
    order = sorted(usable, key=lambda i: (readings[i].read_on, readings[i].km, i))
    if not order:
        return verdicts
    days = np.array([readings[i].read_on.toordinal() for i in order], dtype=np.int64)
    km = np.array([readings[i].km for i in order], dtype=np.int64)
    standing = _largest_consistent(days, km, first_used_on)
    for place in np.flatnonzero(~standing):
        verdicts[order[place]] = _explain(int(place), days, km, standing)
    return verdicts


def _largest_consistent(days: np.ndarray, km: np.ndarray, first_used_on: date | None) -> np.ndarray:
    gaps = np.diff(days)
    steps = np.diff(km)
    start_day = None if first_used_on is None else first_used_on.toordinal()
    allowed_from_new = np.full(len(km), True)
    if start_day is not None:
        allowed_from_new = km <= HARD_PACE_KM_PER_DAY * (days - start_day + 1)
    calm = (steps >= -BACKWARDS_SLACK_KM) & (steps <= SOFT_PACE_KM_PER_DAY * (gaps + 1))
    if calm.all() and allowed_from_new.all():
        return np.full(len(km), True)

    score = np.where(allowed_from_new, 1.0, -np.inf)
    before = np.full(len(km), -1, dtype=np.int64)
    for later in range(1, len(km)):
        if not allowed_from_new[later]:
            continue
        step = km[later] - km[:later]
        gap = days[later] - days[:later] + 1
        possible = (step >= -BACKWARDS_SLACK_KM) & (step <= HARD_PACE_KM_PER_DAY * gap)
        links = score[:later] - SOFT_PACE_COST * (step > SOFT_PACE_KM_PER_DAY * gap)
        links = np.where(possible, links, -np.inf)
        best = int(np.argmax(links))
        if np.isfinite(links[best]) and links[best] + 1.0 > score[later]:
            score[later] = links[best] + 1.0
            before[later] = best
    standing = np.full(len(km), False)
    place = int(np.argmax(score))
    if not np.isfinite(score[place]):
        return standing
    while place >= 0:
        standing[place] = True
        place = int(before[place])
    return standing


def _explain(place: int, days: np.ndarray, km: np.ndarray, standing: np.ndarray) -> Judgement:
    kept = np.flatnonzero(standing)
    read = int(km[place])
    if kept.size == 0:
        return Judgement(Doubt.IMPOSSIBLE_PACE, f"{read} km is more than its days of use allow")
    earlier = kept[kept < place]
    later = kept[kept > place]
    low = int(km[earlier[-1]]) if earlier.size else 0
    high = int(km[later[0]]) if later.size else None
    expected = float(np.interp(days[place], days[kept], km[kept]))
    between = f"between {low} km" + ("" if high is None else f" and {high} km")

    factor = float(KM_PER_MILE)
    for ratio in (factor, 1 / factor):
        fits = low - BACKWARDS_SLACK_KM <= read * ratio <= (high or read * ratio)
        near = abs(read * ratio / expected - 1) <= UNIT_RATIO_TOLERANCE if expected > 0 else False
        if fits and near:
            return Judgement(
                Doubt.WRONG_UNIT, f"{read} km fits {between} once miles and km are exchanged"
            )
    gap_days = int(days[place] - days[earlier[-1]]) + 1 if earlier.size else 0
    ceiling = low + SOFT_PACE_KM_PER_DAY * gap_days if high is None else high
    if earlier.size and any(low <= value <= ceiling for value in _one_slip_away(read)):
        return Judgement(Doubt.WRONG_DIGIT, f"{read} km fits {between} with one digit mended")
    if read < low - BACKWARDS_SLACK_KM:
        return Judgement(Doubt.BACKWARDS, f"{read} km comes after {low} km")
    if high is not None and read > high + BACKWARDS_SLACK_KM:
        return Judgement(Doubt.BACKWARDS, f"{read} km is followed by {high} km")
    return Judgement(Doubt.IMPOSSIBLE_PACE, f"{read} km does not fit {between} in the days passed")


def _one_slip_away(km: int) -> set[int]:
    """Values that differ by one slip: a digit dropped, doubled at the end, or two exchanged."""
    text = str(km)
    slips = {text[:i] + text[i + 1 :] for i in range(len(text))}
    slips |= {text + digit for digit in "0123456789"}
    slips |= {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)}
    return {int(slip) for slip in slips if slip}

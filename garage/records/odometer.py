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
#: How near the exchanged value must come to the expected distance to name the unit, as a share of
#: it. Miles and km are 61 % apart, so this is for the interpolation's error. Judgement; of seeded
#: exchanges in real histories it names nine in ten (docs/odometer.md).
UNIT_RATIO_TOLERANCE = 0.05
#: Past the readings that stand, this many times the vehicle's usual distance is left open for what
#: a mended reading may be. Judgement; it only chooses the name of a doubt.
END_ROOM = 2


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
    sets of one size the one with fewer stretches at a pace that is rarely true, then the one
    nearest to the vehicle's usual pace, and then the one that keeps the earlier readings.
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

    # The median: one wrong reading spoils two steps, and they do not move it far.
    usual_pace = float(np.median(steps / (gaps + 1))) if steps.size else 0.0
    # In readings: all such stretches together never outvote one reading.
    soft_pace_cost = 1 / (len(km) + 1)
    score = np.where(allowed_from_new, 1.0, -np.inf)
    unsteadiness = np.zeros(len(km))
    before = np.full(len(km), -1, dtype=np.int64)
    for later in range(1, len(km)):
        if not allowed_from_new[later]:
            continue
        step = km[later] - km[:later]
        gap = days[later] - days[:later] + 1
        possible = (step >= -BACKWARDS_SLACK_KM) & (step <= HARD_PACE_KM_PER_DAY * gap)
        links = score[:later] - soft_pace_cost * (step > SOFT_PACE_KM_PER_DAY * gap)
        links = np.where(possible, links, -np.inf)
        unsteady = unsteadiness[:later] + (step - usual_pace * gap) ** 2 / gap
        best = _first_of_best(links, unsteady)
        if np.isfinite(links[best]) and links[best] + 1.0 > score[later]:
            score[later] = links[best] + 1.0
            unsteadiness[later] = unsteady[best]
            before[later] = best
    standing = np.full(len(km), False)
    place = _first_of_best(score, unsteadiness)
    if not np.isfinite(score[place]):
        return standing
    while place >= 0:
        standing[place] = True
        place = int(before[place])
    return standing


def _first_of_best(score: np.ndarray, unsteadiness: np.ndarray) -> int:
    """The place of the highest score; of equal ones the steadiest, then the first."""
    equal = np.flatnonzero(score == score.max())
    return int(equal[np.argmin(unsteadiness[equal])])


@dataclass(frozen=True)
class _Room:
    """What the readings that stand leave open on one day."""

    low: int
    high: int
    expected: float
    words: str

    def holds(self, km: float) -> bool:
        return self.low - BACKWARDS_SLACK_KM <= km <= self.high + BACKWARDS_SLACK_KM


def _room(place: int, days: np.ndarray, km: np.ndarray, standing: np.ndarray) -> _Room:
    kept = np.flatnonzero(standing)
    earlier = kept[kept < place]
    later = kept[kept > place]
    span_days = int(days[kept[-1]] - days[kept[0]])
    pace = float(km[kept[-1]] - km[kept[0]]) / span_days if span_days > 0 else 0.0
    if not later.size:
        low = int(km[earlier[-1]])
        usual_km = pace * float(days[place] - days[earlier[-1]])
        return _Room(low, int(low + END_ROOM * usual_km), low + usual_km, f"after {low} km")
    high = int(km[later[0]])
    if not earlier.size:
        usual_km = min(high, pace * float(days[later[0]] - days[place]))
        low = max(0, int(high - END_ROOM * usual_km))
        return _Room(low, high, high - usual_km, f"before {high} km")
    low = int(km[earlier[-1]])
    expected = float(np.interp(days[place], days[kept], km[kept]))
    return _Room(low, high, expected, f"between {low} km and {high} km")


def _explain(place: int, days: np.ndarray, km: np.ndarray, standing: np.ndarray) -> Judgement:
    read = int(km[place])
    if not standing.any():
        return Judgement(Doubt.IMPOSSIBLE_PACE, f"{read} km is more than its days of use allow")
    room = _room(place, days, km, standing)
    factor = float(KM_PER_MILE)
    for mended in (read * factor, read / factor):
        near = abs(mended - room.expected) <= UNIT_RATIO_TOLERANCE * room.expected
        if near and room.holds(mended):
            return Judgement(
                Doubt.WRONG_UNIT, f"{read} km fits {room.words} once miles and km are exchanged"
            )
    if any(room.holds(mended) for mended in _one_slip_away(read)):
        return Judgement(Doubt.WRONG_DIGIT, f"{read} km fits {room.words} with one digit mended")
    kept = np.flatnonzero(standing)
    if (km[kept[kept < place]] > read + BACKWARDS_SLACK_KM).any():
        return Judgement(Doubt.BACKWARDS, f"{read} km is read {room.words}")
    if (km[kept[kept > place]] < read - BACKWARDS_SLACK_KM).any():
        return Judgement(Doubt.BACKWARDS, f"{read} km is read {room.words}")
    return Judgement(
        Doubt.IMPOSSIBLE_PACE, f"{read} km is read {room.words}: too far for the days between"
    )


def _one_slip_away(km: int) -> set[int]:
    """Values that differ by one slip: a digit too many, one missing, or two exchanged."""
    text = str(km)
    slips = {text[:i] + text[i + 1 :] for i in range(len(text))}
    slips |= {text[:i] + digit + text[i:] for i in range(len(text) + 1) for digit in "0123456789"}
    slips |= {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)}
    return {int(slip) for slip in slips if slip} - {km}

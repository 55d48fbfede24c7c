"""Seeded slips of the pen on odometer histories, for measuring what the odometer check finds."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.records.choices import Doubt
from garage.records.odometer import (
    BACKWARDS_SLACK_KM,
    HARD_PACE_KM_PER_DAY,
    Reading,
    readings_judge,
)

KM_PER_MILE = 1.609344
KINDS = ("miles_as_km", "km_as_miles", "dropped_digit", "swapped_digits", "times_ten", "clocked")
CLOCKED_BACK_KM = 40_000


@dataclass
class Tally:
    """What became of the slips of one kind."""

    slips: int = 0
    with_trace: int = 0
    found: int = 0
    named: int = 0
    good_doubted: int = 0
    doubted_without_trace: int = 0

    @property
    def share_found(self) -> float:
        return self.found / self.with_trace

    @property
    def share_named(self) -> float:
        return self.named / self.found


#: The doubt that names each slip; a clocked odometer is nothing but backwards.
RIGHT_NAME = {
    "miles_as_km": Doubt.WRONG_UNIT,
    "km_as_miles": Doubt.WRONG_UNIT,
    "dropped_digit": Doubt.WRONG_DIGIT,
    "swapped_digits": Doubt.WRONG_DIGIT,
    "times_ten": Doubt.WRONG_DIGIT,
    "clocked": Doubt.BACKWARDS,
}


def slip(kind: str, km: int, rng: np.random.Generator) -> int:
    """The distance as it reads after a slip of this kind."""
    text = str(km)
    if kind == "miles_as_km":
        return round(km / KM_PER_MILE)
    if kind == "km_as_miles":
        return round(km * KM_PER_MILE)
    if kind == "dropped_digit":
        at = int(rng.integers(len(text)))
        return int((text[:at] + text[at + 1 :]) or 0)
    if kind == "swapped_digits":
        at = int(rng.integers(max(1, len(text) - 1)))
        return int(text[:at] + text[at : at + 2][::-1] + text[at + 2 :])
    if kind == "times_ten":
        return km * 10
    return km - CLOCKED_BACK_KM


def leaves_trace(history: Sequence[Reading], at: int) -> bool:
    """Whether the reading at `at` cannot be true together with some other."""
    for other, reading in enumerate(history):
        if other == at:
            continue
        first, second = (reading, history[at]) if other < at else (history[at], reading)
        step_km = second.km - first.km
        days = (second.read_on - first.read_on).days + 1
        if step_km < -BACKWARDS_SLACK_KM or step_km > HARD_PACE_KM_PER_DAY * days:
            return True
    return False


def tallies(
    histories: Sequence[Sequence[Reading]], *, thin_to: int, rng: np.random.Generator
) -> dict[str, Tally]:
    """Thin each history, spoil one reading by each kind of slip in turn, and judge."""
    counts = {kind: Tally() for kind in KINDS}
    for history in histories:
        kept = np.sort(rng.choice(len(history), thin_to, replace=False))
        thinned = [history[int(i)] for i in kept]
        for kind, tally in counts.items():
            at = int(rng.integers(thin_to))
            spoilt_km = slip(kind, thinned[at].km, rng)
            if spoilt_km < 0 or spoilt_km == thinned[at].km:
                continue
            spoilt = list(thinned)
            spoilt[at] = Reading(thinned[at].read_on, spoilt_km)
            verdicts = [judgement.doubt for judgement in readings_judge(spoilt)]
            tally.slips += 1
            if not leaves_trace(spoilt, at):
                tally.doubted_without_trace += any(verdicts)
                continue
            tally.with_trace += 1
            tally.found += verdicts[at] is not None
            tally.named += verdicts[at] == RIGHT_NAME[kind]
            tally.good_doubted += sum(v is not None for i, v in enumerate(verdicts) if i != at)
    return counts

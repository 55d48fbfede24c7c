"""Failures known only to lie between a last sound odometer and the one they were found at.

Such a failure stands in the risk table where it was found, and in this table beside it (rule 8).
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from garage.outcomes.lives import Life

#: A gap no wider than the clock's step says nothing that the risk table does not.
CLOCK_STEP_KM = 1


@dataclass(frozen=True, slots=True)
class IntervalCount:
    """So many failures between these distances since fitting."""

    last_sound_km: int
    found_failed_km: int
    count: int


def interval_table(lives: Iterable[Life]) -> tuple[IntervalCount, ...]:
    """The failures of these lives that have a last sound distance, in order."""
    counts = Counter(
        (life.last_sound_km, life.seen_km)
        for life in lives
        if life.used
        and life.failed
        and life.last_sound_km is not None
        and life.seen_km - life.last_sound_km > CLOCK_STEP_KM
    )
    return tuple(IntervalCount(*gap, count) for gap, count in sorted(counts.items()))

"""How long parts last: for each engine family, part kind and origin, three curves with their bands.

*Expected* comes first; *seen* is mostly too low and *presumed* too high (design: rule 3). All are
shown, and the share of the watching time that was really covered stands beside them.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from garage.outcomes.choices import Curve, Stratum
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.curves import CurveSummary, curve_summary
from garage.outcomes.intervals import IntervalCount, interval_table
from garage.outcomes.lives import Life


@dataclass(frozen=True)
class GroupKey:
    engine_family: str
    origin: str
    stratum: str


@dataclass(frozen=True)
class GroupLife:
    """Part life of one engine family, origin and stratum."""

    key: GroupKey
    lives: int
    failed: int
    vehicles: int
    watched_km: int
    covered_share: float | None
    """Watching time at jobs, of the watching time if every silent vehicle still drove."""
    curves: tuple[CurveSummary, ...]
    intervals: tuple[IntervalCount, ...]
    """Failures known only to lie within a gap: beside the curves, which count them as found."""


def lives_by_group(lives: Iterable[Life]) -> dict[GroupKey, list[Life]]:
    """The used lives of each family and origin: by stratum, and together where both occur."""
    groups: dict[GroupKey, list[Life]] = defaultdict(list)
    for life in lives:
        if life.used:
            groups[GroupKey(life.family, life.origin, life.stratum)].append(life)
            groups[GroupKey(life.family, life.origin, Stratum.TOGETHER)].append(life)
    kept = {}
    for key in sorted(groups, key=_reading_order):
        other = GroupKey(key.engine_family, key.origin, Stratum.ON_ARRIVALS)
        if key.stratum == Stratum.SEEN_BEFORE_TROUBLE and other not in groups:
            continue  # it is the group together, once more
        kept[key] = groups[key]
    return kept


def _reading_order(key: GroupKey) -> tuple[str, str, int]:
    return key.engine_family, key.origin, list(Stratum).index(Stratum(key.stratum))


def group_life(key: GroupKey, group: GroupLives, rng: np.random.Generator) -> GroupLife:
    """The curves of one group, in the order in which they are shown."""
    lives = group.lives
    covered = sum(life.seen_km - life.entry_km for life in lives)
    presumed = sum(life.presumed_km - life.entry_km for life in lives)
    return GroupLife(
        key=key,
        lives=len(lives),
        failed=sum(life.failed for life in lives),
        vehicles=len({life.vehicle_id for life in lives}),
        watched_km=covered,
        covered_share=covered / presumed if presumed else None,
        curves=tuple(
            curve_summary(curve, group, own_rng)
            for curve, own_rng in zip(Curve, rng.spawn(len(Curve)), strict=True)
        ),
        intervals=interval_table(lives),
    )

"""Parts that failed far short of normal life, and vehicles on which that keeps happening."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain

import numpy as np

from garage.lifetimes.comparison.false_discovery import benjamini_hochberg
from garage.lifetimes.comparison.p_values import Rejections
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.verdict.shares import VerdictShares, verdict_shares
from garage.outcomes.choices import LifeClass
from garage.outcomes.lives import Life
from garage.outcomes.normal_life import NormalLife, NormalLives
from garage.outcomes.repeat_counts import (
    CountProbability,
    count_probability,
    ended_at_km,
    known_lives,
)

#: Share of the flags that may be chance, on average. The usual level; design.
FALSE_DISCOVERY_LEVEL = 0.05
Place = tuple[int, str]
"""A vehicle and a position on it."""


class FlagRule(StrEnum):
    EARLY_FAILURE = "early_failure"
    EARLY_REPEAT_FAILURE = "early_repeat_failure"


class FiredBy(StrEnum):
    """What made the flag: one part's short life, or so many failures in so few km."""

    LIFE = "life"
    COUNT = "count"


@dataclass(frozen=True)
class EarlyLife:
    """One part that failed. `p` is normal life's chance of failing by this length.

    `alone` says that this life by itself is early; the others are part of too many failures.
    """

    fitment_id: int
    origin: str
    length_km: int
    normal: NormalLife
    p: float
    p_adjusted: float
    alone: bool


@dataclass(frozen=True)
class Flag:
    """One vehicle's early failures, what made the flag, and what is the likelier cause."""

    rule: FlagRule
    fired_by: tuple[FiredBy, ...]
    vehicle_id: int
    organisation_id: int
    engine_family: str
    position: str
    early: tuple[EarlyLife, ...]
    watched_lives: int
    failed_at_arrival: int
    """Parts already failed when the vehicle was first seen: named, not counted."""
    failed_uncounted: int
    """Other earlier failures that the count leaves out: of parts with no life on the km clock, and
    at other positions. They make it a repeat failure all the same."""
    count: CountProbability | None
    count_p_adjusted: float | None
    verdict: VerdictShares


@dataclass(frozen=True)
class EarlyFailures:
    watched_lives: int
    failed_lives: int
    level: float
    flags: tuple[Flag, ...]
    reason: str


def early_failures(
    lives: Sequence[Life], normal: NormalLives, margins: dict[int, float]
) -> EarlyFailures:
    """Flag early failures among all watched lives, and vehicles with too many of them.

    `margins` holds each organisation's margin of verdict. The step-up rule runs over all watched
    lives, those still running as p = 1, and among them those not seen since they were fitted: had
    they failed, they would have been. Among failed lives alone short ones are over-represented, for
    the long ones have not ended. It runs once more over all watched vehicles, with the chance
    of so many failures in so few km, those with fewer than two failures as p = 1.
    """
    watched = [life for life in lives if life.used]
    if not watched:
        return EarlyFailures(0, 0, FALSE_DISCOVERY_LEVEL, (), "no life was watched")
    histories: dict[Place, list[Life]] = defaultdict(list)
    for life in lives:
        histories[life.vehicle_id, life.position].append(life)
    sought = _Sought(normal, histories)
    flags = [
        _flag(place, sought, margins)
        for place in sought.places
        if sought.is_early(place) or sought.are_many(place)
    ]
    flags.sort(
        key=lambda flag: (
            flag.rule != FlagRule.EARLY_REPEAT_FAILURE,
            1.0 if flag.count is None or flag.count.normal is None else flag.count.normal,
            min(life.p for life in flag.early),
            flag.vehicle_id,
            flag.position,
        )
    )
    return EarlyFailures(
        len(watched),
        sum(life.failed for life in watched),
        FALSE_DISCOVERY_LEVEL,
        tuple(flags),
        normal.reason,
    )


class _Sought:
    """Both searches for what chance does not explain: over lives, and over vehicles."""

    def __init__(self, normal: NormalLives, histories: dict[Place, list[Life]]) -> None:
        self.normal = normal
        self.histories = histories
        self.of_vehicle: dict[int, list[Life]] = defaultdict(list)
        for life in chain.from_iterable(histories.values()):
            self.of_vehicle[life.vehicle_id].append(life)
        self.rows_at: dict[Place, list[int]] = defaultdict(list)
        for row, life in enumerate(normal.rows):
            self.rows_at[life.vehicle_id, life.position].append(row)
        watched = [life for life in chain.from_iterable(histories.values()) if life.used]
        self.places = list(dict.fromkeys((life.vehicle_id, life.position) for life in watched))
        self.laws = [normal.of(life.organisation_id, life.origin) for life in normal.rows]
        self.p = np.array(
            [
                _chance_by(life, law.law) if life.failed and law is not None else 1.0
                for life, law in zip(normal.rows, self.laws, strict=True)
            ]
        )
        not_seen_since = np.ones(len(watched) - len(normal.rows))
        self.lives: Rejections = benjamini_hochberg(
            np.concatenate([self.p, not_seen_since]), level=FALSE_DISCOVERY_LEVEL
        )
        self.counts = {
            place: count_probability(known_lives(histories[place]), normal)
            for place in self.places
            if any(normal.rows[row].failed for row in self.rows_at[place])
        }
        self.vehicles: Rejections = benjamini_hochberg(
            np.array([self._count_p(place) for place in self.places]),
            level=FALSE_DISCOVERY_LEVEL,
        )
        self._number = {place: number for number, place in enumerate(self.places)}

    def _count_p(self, place: Place) -> float:
        count = self.counts.get(place)
        if count is None or count.normal is None or count.failures < 2:
            return 1.0
        return count.normal

    def is_early(self, place: Place) -> bool:
        """Some life there is early by itself."""
        return any(bool(self.lives.rejected[row]) for row in self.rows_at[place])

    def are_many(self, place: Place) -> bool:
        """So many failed there in so few km."""
        return bool(self.vehicles.rejected[self._number[place]])

    def count_p_adjusted(self, place: Place) -> float | None:
        count = self.counts.get(place)
        if count is None or count.failures < 2:
            return None
        return float(self.vehicles.adjusted[self._number[place]])

    def failed_before(self, latest: Life) -> list[Life]:
        """Earlier failures of the part kind on this vehicle, with or without a known length."""
        return [
            life
            for life in self.of_vehicle[latest.vehicle_id]
            if life.failed_here
            and life.removed_on is not None
            and latest.removed_on is not None
            and life.removed_on < latest.removed_on
        ]

    def early_rows(self, place: Place) -> list[int]:
        """The lives that make the flag: those early by themselves; else all that failed."""
        alone = [row for row in self.rows_at[place] if self.lives.rejected[row]]
        if self.are_many(place):
            return [
                row
                for row in self.rows_at[place]
                if self.normal.rows[row].failed and self.laws[row] is not None
            ]
        return alone


def _chance_by(life: Life, law: WeibullLaw) -> float:
    """Normal life's chance of failing by this length.

    From fitting on, wherever watching began: a part met at 250 000 km that fails soon after is a
    surprise to whoever met it, but not early. For parts met late this errs towards no flag.
    """
    return float(-np.expm1(-law.cumulative_hazard(float(life.seen_km))))


def _flag(place: Place, sought: _Sought, margins: dict[int, float]) -> Flag:
    lives = sought.normal.rows
    rows = sorted(sought.early_rows(place), key=lambda row: ended_at_km(lives[row]))
    latest = rows[-1]
    history = sought.histories[place]
    earlier = sought.failed_before(lives[latest])
    arrived = sum(each.life_class is LifeClass.ARRIVED_FAILED for each in earlier)
    counted = sum(
        each.failed for each in known_lives([e for e in earlier if e.position == place[1]])
    )
    found = ((FiredBy.LIFE, sought.is_early(place)), (FiredBy.COUNT, sought.are_many(place)))
    life = lives[latest]
    return Flag(
        rule=FlagRule.EARLY_REPEAT_FAILURE if earlier else FlagRule.EARLY_FAILURE,
        fired_by=tuple(by for by, fired in found if fired),
        vehicle_id=life.vehicle_id,
        organisation_id=life.organisation_id,
        engine_family=life.family,
        position=life.position,
        early=tuple(_early_life(row, sought) for row in rows),
        watched_lives=len(known_lives(history)),
        failed_at_arrival=arrived,
        failed_uncounted=len(earlier) - arrived - counted,
        count=sought.counts[place] if earlier else None,
        count_p_adjusted=sought.count_p_adjusted(place) if earlier else None,
        # On the latest failure: the question is why it failed this time.
        verdict=verdict_shares(
            sought.normal.mixture, [latest], margin=margins[life.organisation_id]
        ),
    )


def _early_life(row: int, sought: _Sought) -> EarlyLife:
    life, law = sought.normal.rows[row], sought.laws[row]
    if law is None:
        raise LookupError(f"a life without a normal life is never early: fitment {life.fitment_id}")
    return EarlyLife(
        fitment_id=life.fitment_id,
        origin=life.origin,
        length_km=life.seen_km,
        normal=law,
        p=float(sought.p[row]),
        p_adjusted=float(sought.lives.adjusted[row]),
        alone=bool(sought.lives.rejected[row]),
    )

"""Parts that failed far short of normal life, and vehicles on which that keeps happening."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from garage.lifetimes.false_discovery import benjamini_hochberg
from garage.lifetimes.fault_mixture_results import FamilyRate
from garage.lifetimes.fault_mixture_verdict import VerdictShares, verdict_shares
from garage.lifetimes.renewal import renewal_count_probability
from garage.lifetimes.weibull import WeibullLaw
from garage.outcomes.choices import LifeClass
from garage.outcomes.lives import Life
from garage.outcomes.normal_life import NormalLife, NormalLives

#: Share of the flags that may be chance, on average. The usual level; design.
FALSE_DISCOVERY_LEVEL = 0.05


class FlagRule(StrEnum):
    EARLY_FAILURE = "early_failure"
    EARLY_REPEAT_FAILURE = "early_repeat_failure"


@dataclass(frozen=True)
class EarlyLife:
    """One part that failed early. `p` is normal life's chance of failing by this length."""

    fitment_id: int
    origin: str
    length_km: int
    normal: NormalLife
    p: float
    p_adjusted: float


@dataclass(frozen=True)
class CountProbability:
    """The chance of `failures` or more within `distance_km`, by normal life and by the family.

    None where it cannot be computed, or the family's rate is not known.
    """

    failures: int
    distance_km: int
    normal: float | None
    family: float | None


@dataclass(frozen=True)
class Flag:
    """One vehicle's early failures, the rule that fired, and what is the likelier cause."""

    rule: FlagRule
    vehicle_id: int
    organisation_id: int
    engine_family: str
    position: str
    early: tuple[EarlyLife, ...]
    watched_lives: int
    failed_at_arrival: int
    """Parts already failed when the vehicle was first seen: named, not counted."""
    count: CountProbability | None
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
    """Flag early failures among all watched lives.

    `margins` holds each organisation's margin of verdict. The step-up rule runs over all watched
    lives, those still running as p = 1: among failed lives alone short ones are over-represented,
    for the long ones have not ended.
    """
    rows = normal.rows
    laws = [normal.of(life.organisation_id, life.origin) for life in rows]
    p = np.array(
        [
            _chance_by(life, law.law) if life.failed and law is not None else 1.0
            for life, law in zip(rows, laws, strict=True)
        ]
    )
    failed = sum(life.failed for life in rows)
    if not rows:
        return EarlyFailures(0, 0, FALSE_DISCOVERY_LEVEL, (), "no life was watched")
    found = benjamini_hochberg(p, level=FALSE_DISCOVERY_LEVEL)
    of_vehicle: dict[tuple[int, str], list[int]] = defaultdict(list)
    for row in np.flatnonzero(found.rejected).tolist():
        of_vehicle[rows[row].vehicle_id, rows[row].position].append(row)
    histories: dict[tuple[int, str], list[Life]] = defaultdict(list)
    for life in lives:
        histories[life.vehicle_id, life.position].append(life)
    flags = []
    for key, early_rows in of_vehicle.items():
        early = tuple(
            EarlyLife(
                fitment_id=rows[row].fitment_id,
                origin=rows[row].origin,
                length_km=rows[row].seen_km,
                normal=law,
                p=float(p[row]),
                p_adjusted=float(found.adjusted[row]),
            )
            for row in early_rows
            if (law := laws[row]) is not None
        )
        latest = max(early_rows, key=lambda row: (rows[row].start_km or 0) + rows[row].seen_km)
        # The latest: the question is why it failed this time.
        verdict = verdict_shares(
            normal.mixture, [latest], margin=margins[rows[latest].organisation_id]
        )
        flags.append(_flag(rows[latest], early, histories[key], normal, verdict))
    flags.sort(
        key=lambda flag: (
            flag.rule != FlagRule.EARLY_REPEAT_FAILURE,
            _first_by(flag.count),
            min(life.p for life in flag.early),
            flag.vehicle_id,
        )
    )
    return EarlyFailures(len(rows), failed, FALSE_DISCOVERY_LEVEL, tuple(flags), normal.reason)


def _first_by(count: CountProbability | None) -> float:
    """The least likely count comes first; one that nobody can tell comes last."""
    return 1.0 if count is None or count.normal is None else count.normal


def _chance_by(life: Life, law: WeibullLaw) -> float:
    """Normal life's chance of failing by this length, given that it had reached its entry."""
    gain = law.cumulative_hazard(float(life.seen_km)) - law.cumulative_hazard(float(life.entry_km))
    return float(-np.expm1(-gain))


def _flag(
    first: Life,
    early: tuple[EarlyLife, ...],
    history: Sequence[Life],
    normal: NormalLives,
    verdict: VerdictShares,
) -> Flag:
    arrived = sum(life.life_class is LifeClass.ARRIVED_FAILED for life in history)
    known = sorted(
        (life for life in history if life.used and life.start_km is not None),
        key=lambda life: (life.start_km or 0) + life.entry_km,
    )
    ended = {life.fitment_id: (life.start_km or 0) + life.seen_km for life in known}
    early_ids = {each.fitment_id for each in early}
    last_early_km = max(ended[fitment_id] for fitment_id in early_ids)
    earlier = sum(life.failed and ended[life.fitment_id] < last_early_km for life in known)
    repeat = earlier + arrived > 0
    return Flag(
        rule=FlagRule.EARLY_REPEAT_FAILURE if repeat else FlagRule.EARLY_FAILURE,
        vehicle_id=first.vehicle_id,
        organisation_id=first.organisation_id,
        engine_family=first.family,
        position=first.position,
        early=early,
        watched_lives=len(known),
        failed_at_arrival=arrived,
        count=_count(known, ended, last_early_km, normal) if repeat else None,
        verdict=verdict,
    )


def _count(
    known: Sequence[Life], ended: dict[int, int], last_early_km: int, normal: NormalLives
) -> CountProbability | None:
    """k failures from the first known fitting to the last early failure, and how likely that is."""
    first = known[0]
    within = [life for life in known if ended[life.fitment_id] <= last_early_km]
    failures = sum(life.failed for life in within)
    begun_km = (first.start_km or 0) + first.entry_km
    distance_km = last_early_km - begun_km
    law_first = normal.of(first.organisation_id, first.origin)
    law_later = normal.of(first.organisation_id, within[-1].origin)
    if law_first is None or law_later is None or distance_km <= 0:
        return None
    age = float(first.entry_km)
    rate = _family_rate(first.family, normal)
    return CountProbability(
        failures=failures,
        distance_km=last_early_km - (first.start_km or 0),
        normal=_chance_of_count(law_first.law, law_later.law, distance_km, failures, age),
        family=None
        if rate is None
        else _chance_of_count(
            _in_family(law_first.law, rate),
            _in_family(law_later.law, rate),
            distance_km,
            failures,
            age,
        ),
    )


def _chance_of_count(
    first: WeibullLaw, later: WeibullLaw, distance_km: float, failures: int, age_km: float
) -> float | None:
    try:
        return renewal_count_probability(
            first, later, float(distance_km), failures, first_age=age_km
        )
    except ArithmeticError:
        # A distance of many hundred lives: no vehicle's, but one row must not stop the report.
        return None


def _family_rate(family: str, normal: NormalLives) -> FamilyRate | None:
    for rate in normal.mixture.families:
        if normal.families[rate.family] == family:
            return rate
    return None


def _in_family(law: WeibullLaw, rate: FamilyRate) -> WeibullLaw:
    """This normal life as the family lives it: its hazard times the family's rate.

    Of a weak family the rate is that of its own law, whose shape may differ.
    """
    shape = law.shape if rate.own_law is None else rate.own_law.shape
    median_km = law.median * rate.mean ** (-1 / law.shape)
    return WeibullLaw(shape, float(median_km / np.log(2) ** (1 / shape)))

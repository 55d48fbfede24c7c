"""How likely so many failures in so few km are: the renewal process of one position."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.renewal.counts import renewal_count_probability
from garage.lifetimes.verdict.results import FamilyRate
from garage.outcomes.lives import Life
from garage.outcomes.normal_life import NormalLives


@dataclass(frozen=True)
class CountProbability:
    """The chance of `failures` or more within `distance_km`, by normal life and by the family.

    None where it cannot be computed, or the family's rate is not known.
    """

    failures: int
    distance_km: int
    normal: float | None
    family: float | None


def ended_at_km(life: Life) -> int:
    """Odometer at which the life ended."""
    return (life.start_km or 0) + life.seen_km


def known_lives(history: Sequence[Life]) -> list[Life]:
    """The used lives of one position, in the order in which they came under watch."""
    return sorted(
        (life for life in history if life.used and life.start_km is not None),
        key=lambda life: (life.start_km or 0) + life.entry_km,
    )


def count_probability(known: Sequence[Life], normal: NormalLives) -> CountProbability | None:
    """k failures from the first known fitting to the last failure, and how likely that is.

    The process starts where watching starts: a factory part met at 90 000 km has an age then. None
    where nothing failed, or no normal life is known.
    """
    failed = [life for life in known if life.failed]
    if not failed:
        return None
    first, last_km = known[0], max(ended_at_km(life) for life in failed)
    within = [life for life in known if ended_at_km(life) <= last_km]
    law_first = normal.of(first.organisation_id, first.origin)
    law_later = normal.of(first.organisation_id, within[-1].origin)
    watched_km = last_km - (first.start_km or 0) - first.entry_km
    if law_first is None or law_later is None or watched_km <= 0:
        return None
    span = _Span(watched_km, len(failed), float(first.entry_km))
    rate = _family_rate(first.family, normal)
    return CountProbability(
        failures=len(failed),
        distance_km=last_km - (first.start_km or 0),
        normal=_chance(law_first.law, law_later.law, span),
        family=None
        if rate is None
        else _chance(_in_family(law_first.law, rate), _in_family(law_later.law, rate), span),
    )


@dataclass(frozen=True)
class _Span:
    watched_km: int
    failures: int
    first_age_km: float


def _chance(first: WeibullLaw, later: WeibullLaw, span: _Span) -> float | None:
    try:
        return renewal_count_probability(
            first, later, float(span.watched_km), span.failures, first_age=span.first_age_km
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

"""Soot balance: how far between burns, and up to what soot a burn may be started."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.gas import not_negative, number_checked
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.ranges import Range
from garage.evidence.thresholds import Basis, Thresholds


class Duty(StrEnum):
    """How a vehicle is driven, or that it makes more soot than it should."""

    STEADY_MOTORWAY = "steady_motorway"
    MIXED = "mixed"
    COLD_URBAN = "cold_urban"
    WITH_A_FAULT = "with_a_fault"


# Soot from the engine, g/km, of cars of Euro 5 and 6; from memory of papers on engine-out soot.
# With a fault the figure starts at 0.2 and has no published top: 0.4 is judgement.
DUTY_SOOT_BASIS = Basis.MEMORY
DUTY_SOOT_G_PER_KM: dict[Duty, Range] = {
    Duty.STEADY_MOTORWAY: Range(0.02, 0.025, 0.03),
    Duty.MIXED: Range(0.02, 0.04, 0.06),
    Duty.COLD_URBAN: Range(0.06, 0.08, 0.10),
    Duty.WITH_A_FAULT: Range(0.2, 0.2, 0.4),
}


class Substrate(StrEnum):
    """What the filter is made of."""

    SILICON_CARBIDE = "silicon_carbide"
    CORDIERITE = "cordierite"
    NOT_KNOWN = "not_known"


class IntervalStatus(StrEnum):
    """How the distance between burns compares with what the duty leads to expect."""

    WITHIN = "within"
    SHORTER = "shorter"
    LONGER = "longer"
    NOT_KNOWN = "not_known"


class BurnStatus(StrEnum):
    """Whether soot alone stands in the way of a burn."""

    WITHIN_LIMIT = "within_limit"
    OVER_LIMIT = "over_limit"
    NOT_APPROVED = "not_approved"


@dataclass(frozen=True, slots=True)
class FilterFacts:
    """What is recorded of the filter; the vehicle's own published limit where there is one."""

    volume_l: float | None = None
    substrate: Substrate = Substrate.NOT_KNOWN
    own_limit_g: float | None = None


@dataclass(frozen=True, slots=True)
class BurnLimit:
    """Most soot for a burn, grams, and what it rests on; None where no burn is approved."""

    limit_g: float | None
    basis: Basis
    reason: str


@dataclass(frozen=True, slots=True)
class BurnJudged:
    """Whether the soot allows a burn. Other gates stand before and after this one."""

    status: BurnStatus
    reason: str
    limit: BurnLimit


@dataclass(frozen=True, slots=True)
class IntervalJudged:
    """Distance between burns beside what is to be expected."""

    status: IntervalStatus
    reason: str
    expected_km: Range | None


def burn_trigger_g(volume_l: float, limits: Thresholds = DEFAULTS) -> Range:
    """At what soot does a vehicle start a burn by itself, in grams?

    Examples
    --------
    >>> burn_trigger_g(3.0)
    Range(least=12.0, likely=18.0, most=24.0)
    """
    number_checked("volume_l", volume_l, above=0.0)
    return Range(
        limits["burn_trigger_least_g_per_l"],
        limits["burn_trigger_likely_g_per_l"],
        limits["burn_trigger_most_g_per_l"],
    ).times(volume_l)


def distance_between_burns_km(trigger_g: Range, soot_g_per_km: Range) -> Range | None:
    """How far does a vehicle go from one burn to the next?

    Trigger over engine-out soot. Soot that burns off by itself on the way (passive) is left out,
    so a vehicle with much of it goes further.

    Returns
    -------
    Range or None
        km; None where the engine may make no soot.

    Examples
    --------
    >>> round(distance_between_burns_km(Range.exactly(18.0), Range.exactly(0.04)).likely)
    450
    """
    return trigger_g.over(soot_g_per_km)


def interval_judged(
    observed_km: float | None,
    volume_l: float | None,
    duty: Duty | None,
    limits: Thresholds = DEFAULTS,
) -> IntervalJudged:
    """Does the distance between burns fit how the vehicle is driven?

    Parameters
    ----------
    observed_km : float or None
        Mean distance between completed burns.
    volume_l : float or None
    duty : Duty or None
    limits : Thresholds

    Raises
    ------
    ValueError
        For a negative distance or a volume that is not above zero.

    Examples
    --------
    >>> interval_judged(120.0, 3.0, Duty.MIXED).status.value
    'shorter'
    """
    if volume_l is None or duty is None:
        missing = "the filter's volume" if volume_l is None else "how the vehicle is driven"
        return IntervalJudged(IntervalStatus.NOT_KNOWN, f"{missing} is not known", None)
    expected = distance_between_burns_km(burn_trigger_g(volume_l, limits), DUTY_SOOT_G_PER_KM[duty])
    if observed_km is None or expected is None:
        return IntervalJudged(
            IntervalStatus.NOT_KNOWN, "the distance between burns is not known", expected
        )
    not_negative("observed_km", observed_km)
    span = f"{expected.least:.0f} to {expected.most:.0f} km"
    if observed_km < expected.least:
        return IntervalJudged(
            IntervalStatus.SHORTER,
            f"shorter than {span}: more soot than this duty makes, or less room, from ash or from "
            "burns that were broken off",
            expected,
        )
    if observed_km > expected.most:
        return IntervalJudged(
            IntervalStatus.LONGER,
            f"longer than {span}: soot burns off by itself, or the count of burns is inconsistent",
            expected,
        )
    return IntervalJudged(IntervalStatus.WITHIN, f"within {span}", expected)


def burn_limit(facts: FilterFacts, limits: Thresholds = DEFAULTS) -> BurnLimit:
    """Up to what soot may a burn be started, in grams?

    The vehicle's own published limit wins. Without it: 8 g/L where silicon carbide is recorded,
    5 g/L otherwise; where the volume is not known, no burn is approved.

    Raises
    ------
    ValueError
        For a limit or volume that is not above zero.

    Examples
    --------
    >>> burn_limit(FilterFacts(volume_l=3.0)).limit_g
    15.0
    >>> burn_limit(FilterFacts()).limit_g is None
    True
    """
    if facts.own_limit_g is not None:
        number_checked("own_limit_g", facts.own_limit_g, above=0.0)
        return BurnLimit(facts.own_limit_g, Basis.SOURCE, "the vehicle's own published limit")
    if facts.volume_l is None:
        return BurnLimit(
            None,
            Basis.JUDGEMENT,
            "neither the vehicle's own limit nor the filter's volume is known: no burn is "
            "approved; enter one of them",
        )
    number_checked("volume_l", facts.volume_l, above=0.0)
    if facts.substrate is Substrate.SILICON_CARBIDE:
        key, of_what = "burn_most_silicon_carbide_g_per_l", "silicon carbide"
    elif facts.substrate is Substrate.CORDIERITE:
        key, of_what = "burn_most_unknown_g_per_l", "cordierite"
    else:
        key, of_what = "burn_most_unknown_g_per_l", "a substrate that is not known"
    told = limits.told(key)
    return BurnLimit(
        told.value * facts.volume_l,
        told.basis,
        f"{told.value:g} g/L of {of_what} times {facts.volume_l:g} L, for want of the vehicle's "
        "own limit",
    )


def burn_judged(
    soot_g: Range | None, facts: FilterFacts, limits: Thresholds = DEFAULTS
) -> BurnJudged:
    """Does the soot in the filter allow a burn?

    The most that the filter may hold counts, not what is likely. Soot over the limit: no burn; the
    filter comes off to be cleaned.

    Examples
    --------
    >>> burn_judged(Range(10.0, 14.0, 18.0), FilterFacts(volume_l=3.0)).status.value
    'over_limit'
    """
    limit = burn_limit(facts, limits)
    if limit.limit_g is None:
        return BurnJudged(BurnStatus.NOT_APPROVED, limit.reason, limit)
    if soot_g is None:
        return BurnJudged(
            BurnStatus.NOT_APPROVED,
            "the soot in the filter is not known: no burn is approved",
            limit,
        )
    if soot_g.most > limit.limit_g:
        return BurnJudged(
            BurnStatus.OVER_LIMIT,
            f"up to {soot_g.most:.1f} g of soot against {limit.limit_g:.1f} g ({limit.reason}): "
            "no burn; take the filter off and clean it",
            limit,
        )
    return BurnJudged(
        BurnStatus.WITHIN_LIMIT,
        f"{soot_g.most:.1f} g of soot at most against {limit.limit_g:.1f} g ({limit.reason})",
        limit,
    )

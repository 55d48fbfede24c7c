"""Soot balance: how far it is from one burn to the next."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.gas import not_negative, number_checked
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.ranges import Range
from garage.evidence.thresholds import Thresholds


class Duty(StrEnum):
    """How a vehicle is driven, or that it makes more soot than it should."""

    STEADY_MOTORWAY = "steady_motorway"
    MIXED = "mixed"
    COLD_URBAN = "cold_urban"
    WITH_A_FAULT = "with_a_fault"


# Soot from the engine, g/km, of cars of Euro 5 and 6; from memory of papers on engine-out soot.
# With a fault the figure starts at 0.2 and has no published top: 0.4 is judgement.
DUTY_SOOT_G_PER_KM: dict[Duty, Range] = {
    Duty.STEADY_MOTORWAY: Range(0.02, 0.025, 0.03),
    Duty.MIXED: Range(0.02, 0.04, 0.06),
    Duty.COLD_URBAN: Range(0.06, 0.08, 0.10),
    Duty.WITH_A_FAULT: Range(0.2, 0.2, 0.4),
}


class IntervalStatus(StrEnum):
    """How the distance between burns compares with what the duty leads to expect."""

    WITHIN = "within"
    SHORTER = "shorter"
    LONGER = "longer"
    NOT_KNOWN = "not_known"


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

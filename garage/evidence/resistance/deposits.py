"""Ash so far, distance until full, and soot between burns, from what is said of a vehicle."""

from dataclasses import dataclass

from garage.evidence.resistance.ash import (
    AshStatus,
    OilCategory,
    OilUse,
    ash_budget,
    oil_ash_range,
)
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.ranges import Range
from garage.evidence.resistance.soot import Duty, IntervalJudged, interval_judged
from garage.evidence.thresholds import Basis, Thresholds

#: Beyond these a figure was typed wrongly. Judgement, no source.
LEAST_L, MOST_ENGINE_L, MOST_FILTER_L = 0.2, 20.0, 60.0
MOST_OIL_L_PER_1000_KM, FARTHEST_KM = 5.0, 2_000_000.0


@dataclass(frozen=True, slots=True)
class DepositsSaid:
    """What is said of a vehicle; None where not known.

    Attributes
    ----------
    oil_l_per_1000_km : float or None
        Topped up between changes; taken as it is said.
    category : OilCategory or None
    volume_l : float or None
        Of the filter.
    on_filter_km : float or None
        Driven since the filter was new or cleaned.
    duty : Duty or None
    burn_interval_km : float or None
        Mean distance between completed burns, as read.
    """

    oil_l_per_1000_km: float | None = None
    category: OilCategory | None = None
    volume_l: float | None = None
    on_filter_km: float | None = None
    duty: Duty | None = None
    burn_interval_km: float | None = None


@dataclass(frozen=True, slots=True)
class AshTold:
    """Ash and distances as ranges; None where one cannot be given, and `reason` says why.

    `ash_percent` is the oil's sulphated ash that was taken, `basis` how far the figures of
    capture and of a full filter can be trusted.
    """

    status: AshStatus
    reason: str
    ash_percent: Range
    ash_g_per_1000_km: Range | None
    ash_by_now_g: Range | None
    full_at_g: Range | None
    full_after_km: Range | None
    remaining_km: Range | None
    basis: tuple[Basis, ...]


@dataclass(frozen=True, slots=True)
class DepositsTold:
    """The ash budget, and the distance between burns beside what the duty leads to expect."""

    ash: AshTold
    interval: IntervalJudged


def oil_ash_any(limits: Thresholds = DEFAULTS) -> Range:
    """How much sulphated ash may an oil hold whose category is not known, % by mass?

    From the least to the most of all categories; likely that of C3, which most cars with a filter
    ask for (common practice, no source).

    Examples
    --------
    >>> oil_ash_any()
    Range(least=0.3, likely=0.8, most=1.6)
    """
    every = [oil_ash_range(each, limits) for each in OilCategory]
    return Range(
        min(each.least for each in every),
        oil_ash_range(OilCategory.C3, limits).likely,
        max(each.most for each in every),
    )


def deposits_reckoned(said: DepositsSaid, limits: Thresholds = DEFAULTS) -> DepositsTold:
    """How much ash is in the filter, how far until it is full, and do its burns fit its duty?

    Raises
    ------
    ValueError
        For a negative figure, or a volume that is not above zero.

    Examples
    --------
    >>> worn = DepositsSaid(0.5, OilCategory.C3, 3.0, 25_000.0)
    >>> told = deposits_reckoned(worn).ash
    >>> told.status.value, round(told.ash_by_now_g.likely)
    ('may_be_full', 51)
    """
    return DepositsTold(
        _ash(said, limits),
        interval_judged(said.burn_interval_km, said.volume_l, said.duty, limits),
    )


def _ash(said: DepositsSaid, limits: Thresholds) -> AshTold:
    percent = oil_ash_any(limits) if said.category is None else oil_ash_range(said.category, limits)
    basis = tuple(
        dict.fromkeys(
            limits.told(key).basis
            for key in ("ash_capture_likely_share", "ash_full_likely_g_per_l")
        )
    )
    if said.oil_l_per_1000_km is None:
        reason = "oil use is not known: measure it over 1000 km or more"
        return AshTold(AshStatus.NO_OIL_USE, reason, percent, None, None, None, None, None, basis)
    use = OilUse(Range.exactly(said.oil_l_per_1000_km), percent)
    found = ash_budget(use, said.volume_l, said.on_filter_km or 0.0, limits)
    if said.on_filter_km is not None:
        return AshTold(
            found.status, found.reason, percent, found.ash_g_per_1000_km, found.ash_by_now_g,
            found.full_at_g, found.full_after_km, found.remaining_km, basis,
        )  # fmt: skip
    status, reason = found.status, found.reason
    if found.full_after_km is not None:
        status = AshStatus.NO_DISTANCE
        reason = "the distance on this filter is not known: only that of a new one is told"
    return AshTold(
        status, reason, percent, found.ash_g_per_1000_km, None,
        found.full_at_g, found.full_after_km, None, basis,
    )  # fmt: skip

"""Ash budget: how much ash the oil leaves in the filter, and when that fills it."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.gas import not_negative, number_checked
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.ranges import Range
from garage.evidence.thresholds import Basis, Thresholds

_PERCENT = 100.0
_BUDGET_KM = 1000.0
#: Less is nothing: 2 mg after two million km. Judgement, no source.
LEAST_ASH_G_PER_1000_KM = 1e-6


class OilCategory(StrEnum):
    """Oil categories of the European oil sequences, by what a label says."""

    C1 = "C1"
    C2 = "C2"
    C3 = "C3"
    C4 = "C4"
    C5 = "C5"
    C6 = "C6"
    A3_B4 = "A3/B4"


@dataclass(frozen=True, slots=True)
class OilAsh:
    """Sulphated ash that a category allows, % by mass; `least_percent` None where it has none."""

    least_percent: float | None
    most_percent: float
    basis: Basis
    source: str


_SEQUENCES = "European oil sequences; read second-hand, check the edition in force"

OIL_ASH: dict[OilCategory, OilAsh] = {
    OilCategory.C1: OilAsh(None, 0.5, Basis.MEMORY, _SEQUENCES),
    OilCategory.C2: OilAsh(None, 0.8, Basis.MEMORY, _SEQUENCES),
    OilCategory.C3: OilAsh(None, 0.8, Basis.MEMORY, _SEQUENCES),
    OilCategory.C4: OilAsh(None, 0.5, Basis.MEMORY, _SEQUENCES),
    OilCategory.C5: OilAsh(None, 0.8, Basis.MEMORY, _SEQUENCES),
    OilCategory.C6: OilAsh(None, 0.8, Basis.MEMORY, _SEQUENCES),
    OilCategory.A3_B4: OilAsh(1.0, 1.6, Basis.MEMORY, _SEQUENCES),
}


class AshStatus(StrEnum):
    """How far the budget goes."""

    OK = "ok"
    NO_VOLUME = "no_volume"
    """The filter's volume is not known: ash a distance, and no distance until full."""
    NO_OIL_USE = "no_oil_use"
    """Oil use may be nothing: no distance until full can be given."""
    NO_DISTANCE = "no_distance"
    """How far the filter has gone is not known: no ash by now, nor distance left."""
    MAY_BE_FULL = "may_be_full"
    """The least budget is used up, the greatest is not."""
    FULL = "full"
    """The greatest budget is used up by this reckoning."""


@dataclass(frozen=True, slots=True)
class OilUse:
    """Oil that the engine burns, and what is in it.

    Attributes
    ----------
    oil_l_per_1000_km : Range
        Topped up between changes, litres.
    sulphated_ash_percent : Range
        By mass: see `oil_ash_range` where only the category is known.
    capture_share : Range or None
        Of the oil's ash that the filter keeps; None for what is usual.
    """

    oil_l_per_1000_km: Range
    sulphated_ash_percent: Range
    capture_share: Range | None = None


@dataclass(frozen=True, slots=True)
class AshBudget:
    """Ash and distances, all ranges; a distance that cannot be given is None.

    `remaining_km` counts from today. Every range is interval arithmetic: the true figure lies
    inside as long as each input does.
    """

    status: AshStatus
    reason: str
    ash_g_per_1000_km: Range
    ash_by_now_g: Range
    full_at_g: Range | None
    full_after_km: Range | None
    remaining_km: Range | None


def oil_ash_range(category: OilCategory, limits: Thresholds = DEFAULTS) -> Range:
    """How much sulphated ash does an oil of this category hold, % by mass?

    Up to the category's limit; how far below is judgement where the category sets no least.

    Examples
    --------
    >>> oil_ash_range(OilCategory.A3_B4)
    Range(least=1.0, likely=1.6, most=1.6)
    """
    found = OIL_ASH[category]
    least = found.least_percent
    if least is None:
        least = found.most_percent * limits["oil_ash_least_share_of_limit"]
    # Towards the limit: a budget errs on the side of the earlier look.
    return Range(least, found.most_percent, found.most_percent)


def usual_capture(limits: Thresholds = DEFAULTS) -> Range:
    """What share of the oil's ash does a filter keep?

    Examples
    --------
    >>> usual_capture()
    Range(least=0.4, likely=0.6, most=0.7)
    """
    return Range(
        limits["ash_capture_least_share"],
        limits["ash_capture_likely_share"],
        limits["ash_capture_most_share"],
    )


def ash_when_full_g(volume_l: float, limits: Thresholds = DEFAULTS) -> Range:
    """At what mass of ash is a filter of this volume treated as full, in grams?

    Examples
    --------
    >>> [round(each) for each in (ash_when_full_g(3.0).least, ash_when_full_g(3.0).most)]
    [50, 80]
    """
    number_checked("volume_l", volume_l, above=0.0)
    return Range(
        limits["ash_full_least_g_per_l"],
        limits["ash_full_likely_g_per_l"],
        limits["ash_full_most_g_per_l"],
    ).times(volume_l)


def ash_budget(
    use: OilUse,
    volume_l: float | None,
    distance_km: float = 0.0,
    limits: Thresholds = DEFAULTS,
) -> AshBudget:
    """How far does the filter go before ash fills it?

    ``g per 1000 km = oil L per 1000 km × density × sulphated ash × capture`` (from memory).

    Parameters
    ----------
    use : OilUse
        As it was over the whole distance.
    volume_l : float or None
        Of the filter; None where not known.
    distance_km : float
        Driven since the filter was new or cleaned.
    limits : Thresholds

    Returns
    -------
    AshBudget
        A range of remaining distance, never a figure: its ends often lie several times apart.

    Raises
    ------
    ValueError
        For a negative distance, a volume that is not above zero, a share above 1.

    Examples
    --------
    >>> worn = OilUse(Range.exactly(0.5), Range.exactly(0.8), Range.exactly(0.6))
    >>> round(ash_budget(worn, 3.0).full_after_km.likely, -3)
    29000.0
    """
    not_negative("distance_km", distance_km)
    capture = use.capture_share if use.capture_share is not None else usual_capture(limits)
    if capture.most > 1.0:
        raise ValueError(
            f"`capture_share` is at most 1; got {capture.most:g}. Divide a percentage by 100."
        )
    if use.sulphated_ash_percent.most > _PERCENT:
        raise ValueError("`sulphated_ash_percent` is at most 100; check the data sheet")
    rate = (
        use.oil_l_per_1000_km.times(limits["oil_density_g_per_l"])
        .times(use.sulphated_ash_percent)
        .times(1.0 / _PERCENT)
        .times(capture)
    )
    by_now = rate.times(distance_km / _BUDGET_KM)
    if volume_l is None:
        return AshBudget(
            AshStatus.NO_VOLUME, "the filter's volume is not known",
            rate, by_now, None, None, None,
        )  # fmt: skip
    full = ash_when_full_g(volume_l, limits)
    after = full.over(rate) if rate.least >= LEAST_ASH_G_PER_1000_KM else None
    if after is None:
        return AshBudget(
            AshStatus.NO_OIL_USE,
            "oil use, ash or capture may be nothing: measure oil use over 1000 km or more",
            rate, by_now, full, None, None,
        )  # fmt: skip
    after_km = after.times(_BUDGET_KM)
    status, reason = _reached(after_km, distance_km)
    return AshBudget(
        status, reason, rate, by_now, full, after_km, after_km.less(Range.exactly(distance_km))
    )


def _reached(after_km: Range, distance_km: float) -> tuple[AshStatus, str]:
    if distance_km >= after_km.most:
        return AshStatus.FULL, (
            "full of ash by this reckoning: a reading just after a completed burn confirms it"
        )
    if distance_km >= after_km.least:
        return AshStatus.MAY_BE_FULL, (
            "the least budget is used up: read the pressure just after a completed burn"
        )
    return AshStatus.OK, "not full by any of the inputs given"

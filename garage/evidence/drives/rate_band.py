"""How soot per km compares with what engines of cars usually give."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.soot_rate import SootRate
from garage.evidence.findings.grade import Held, held_of
from garage.evidence.thresholds import Thresholds


class RateBand(StrEnum):
    """Which driving, or what else, gives so much soot."""

    USUAL = "usual"
    TOWN = "town"
    HIGH = "high"
    FAULT = "fault"
    CANNOT_BE_TOLD = "cannot_be_told"


_WORDS = {
    RateBand.USUAL: "as in mixed driving, or less",
    RateBand.TOWN: "as in cold town driving",
    RateBand.HIGH: "more than cold town driving usually gives",
    RateBand.FAULT: "so much that a fault upstream is likely",
}


@dataclass(frozen=True, slots=True)
class RateBanded:
    """The band that both limits of the rate lie in, and the thresholds it was held against."""

    band: RateBand
    words: str
    held: tuple[Held, ...]


def rate_banded(rate: SootRate, limits: Thresholds = DEFAULTS) -> RateBanded:
    """Answer how much soot per km this is, for a car.

    A band is said only where both 95 % limits of the rate lie in it.

    Parameters
    ----------
    rate : SootRate
    limits : Thresholds

    Returns
    -------
    RateBanded

    Examples
    --------
    >>> from garage.evidence.drives.soot_rate import RateStatus
    >>> rate = SootRate(RateStatus.TOLD, "", 0.04, 0.03, 0.05, 100.0, None, 0, 8)
    >>> rate_banded(rate).words
    'as in mixed driving, or less'
    """
    keys = ("rate_usual_most_g_per_km", "rate_town_most_g_per_km", "rate_fault_g_per_km")
    held = held_of(limits, *keys)
    if rate.low_g_per_km is None or rate.high_g_per_km is None:
        return RateBanded(RateBand.CANNOT_BE_TOLD, f"soot per km is not known: {rate.reason}", held)
    low, high = _band(rate.low_g_per_km, limits), _band(rate.high_g_per_km, limits)
    if low is high:
        return RateBanded(low, _WORDS[low], held)
    words = f"between “{_WORDS[low]}” and “{_WORDS[high]}”; a longer log tells more"
    return RateBanded(RateBand.CANNOT_BE_TOLD, words, held)


def _band(g_per_km: float, limits: Thresholds) -> RateBand:
    if g_per_km <= limits["rate_usual_most_g_per_km"]:
        return RateBand.USUAL
    if g_per_km <= limits["rate_town_most_g_per_km"]:
        return RateBand.TOWN
    return RateBand.HIGH if g_per_km < limits["rate_fault_g_per_km"] else RateBand.FAULT

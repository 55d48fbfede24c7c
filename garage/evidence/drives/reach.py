"""Distance until soot reaches a mass: the next burn, or the lamp, as a range."""

from dataclasses import dataclass

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.soot_rate import SootRate
from garage.evidence.resistance.gas import not_negative, number_checked
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class Reach:
    """Nearest, middle and farthest distance to a mass; None where it is not reached.

    `near_km` is at the upper limit of soot per km, `far_km` at the lower.
    """

    target_g: float
    near_km: float | None
    middle_km: float | None
    far_km: float | None
    reason: str


def reach_of(
    soot_now_g: float, rate: SootRate, target_g: float, limits: Thresholds = DEFAULTS
) -> Reach:
    """Answer after which distance the modelled soot reaches `target_g` at this rate.

    The range is that of the rate's 95 % limits: another use than that of the log is not in it.
    Ask once with the mass that starts a burn and once with that of the lamp.

    Parameters
    ----------
    soot_now_g, target_g : float
    rate : SootRate
    limits : Thresholds

    Returns
    -------
    Reach
        Distances in km; None past 3000 km or where soot does not rise.

    Raises
    ------
    ValueError
        For a soot below 0, or a target not above 0.

    Examples
    --------
    >>> from garage.evidence.drives.soot_rate import RateStatus
    >>> rate = SootRate(RateStatus.TOLD, "", 0.04, 0.03, 0.06, 100.0, None, 0, 8)
    >>> reach = reach_of(6.0, rate, 18.0)
    >>> reach.near_km, reach.middle_km, reach.far_km
    (200.0, 300.0, 400.0)
    """
    not_negative("soot_now_g", soot_now_g)
    number_checked("target_g", target_g, above=0.0)
    left_g = target_g - soot_now_g
    if left_g <= 0:
        words = f"{soot_now_g:g} g reckoned: {target_g:g} g is reached already"
        return Reach(target_g, 0.0, 0.0, 0.0, words)
    if rate.rate_g_per_km is None:
        return Reach(target_g, None, None, None, f"soot per km is not known: {rate.reason}")
    most = limits["reach_most_km"]
    near = _km(left_g, rate.high_g_per_km, most)
    middle = _km(left_g, rate.rate_g_per_km, most)
    far = _km(left_g, rate.low_g_per_km, most)
    return Reach(target_g, near, middle, far, _words(target_g, near, far, most))


def _km(left_g: float, rate_g_per_km: float | None, most_km: float) -> float | None:
    if rate_g_per_km is None or rate_g_per_km <= 0:
        return None
    km = left_g / rate_g_per_km
    return None if km > most_km else round(km, 6)


def _words(target_g: float, near: float | None, far: float | None, most_km: float) -> str:
    if near is None:
        return f"{target_g:g} g is not reached at this rate within {most_km:g} km"
    if far is None:
        return (
            f"{target_g:g} g after {near:.0f} km at the soonest; at the lower limit of the rate "
            f"it is not reached within {most_km:g} km"
        )
    return f"{target_g:g} g after {near:.0f} to {far:.0f} km, driven as in this log"

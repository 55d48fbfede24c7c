"""Distance until soot reaches a mass that is itself only known as a range."""

from dataclasses import dataclass

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.reach import Reach, reach_of
from garage.evidence.drives.soot_rate import SootRate
from garage.evidence.drives.targets import Target
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class ReachRange:
    """Nearest and farthest distance to a mass; None where it is not reached, or cannot be told.

    `near_km` is to the least of the target at the upper limit of soot per km, `far_km` to its most
    at the lower.
    """

    near_km: float | None
    far_km: float | None
    reason: str


def reach_range(
    soot_now_g: float, rate: SootRate, target: Target, limits: Thresholds = DEFAULTS
) -> ReachRange:
    """Answer between which distances the modelled soot reaches the target at this rate.

    Parameters
    ----------
    soot_now_g : float
    rate : SootRate
    target : Target
    limits : Thresholds

    Returns
    -------
    ReachRange
        Distances in km.

    Raises
    ------
    ValueError
        For a soot below 0.

    Examples
    --------
    >>> from garage.evidence.drives.soot_rate import RateStatus
    >>> rate = SootRate(RateStatus.TOLD, "", 0.04, 0.03, 0.06, 100.0, None, 0, 8)
    >>> found = reach_range(6.0, rate, Target(15.0, 18.0, ""))
    >>> found.near_km, found.far_km
    (150.0, 400.0)
    """
    nearest = reach_of(soot_now_g, rate, target.least_g, limits)
    if target.least_g == target.most_g:
        return ReachRange(nearest.near_km, nearest.far_km, nearest.reason)
    farthest = reach_of(soot_now_g, rate, target.most_g, limits)
    near, far = nearest.near_km, farthest.far_km
    if near is None or farthest.near_km == 0:
        return ReachRange(near, far, nearest.reason if near is None else farthest.reason)
    return ReachRange(near, far, _words(soot_now_g, target, near, farthest))


def _words(soot_now_g: float, target: Target, near_km: float, farthest: Reach) -> str:
    span = f"{target.least_g:g} to {target.most_g:g} g"
    near = f"{span} after {near_km:.0f} km at the soonest"
    if near_km == 0:
        near = f"{soot_now_g:g} g reckoned, within {span}: at any time now"
    if farthest.far_km is None:
        return f"{near}; {farthest.reason}"
    if near_km == 0:
        return f"{near}, or within {farthest.far_km:.0f} km"
    return f"{span} after {near_km:.0f} to {farthest.far_km:.0f} km, driven as in this log"

"""All that one log tells: soot per km, how far the next burn is, and each burn in it."""

from dataclasses import dataclass

from garage.evidence.drives.burns import BurnFound, burns_found
from garage.evidence.drives.falls import falls_found
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.drives.rate_band import RateBanded, rate_banded
from garage.evidence.drives.reach_range import ReachRange, reach_range
from garage.evidence.drives.soot_rate import RateStatus, SootRate, soot_rate
from garage.evidence.drives.targets import Target, Targets
from garage.evidence.thresholds import Thresholds

#: Most falls of soot in one log that are looked at as burns: one each half hour, in 55 hours.
#: Judgement, no source.
FALLS_MOST = 110
_HEADS = {
    "time_s": "time",
    "distance_km": "distance",
    "soot_g": "soot",
    "inlet_c": "inlet temperature",
}


@dataclass(frozen=True, slots=True)
class DriveJudged:
    """What a log tells; what it cannot says why in words.

    Attributes
    ----------
    rate : SootRate
        Too short also where the log has no distance or no soot.
    band : RateBanded
    soot_now_g : float or None
        The last soot in the log.
    to_burn, to_limit : ReachRange
        From the end of the log to where the next burn begins, and to the most soot for one.
    between_burns : ReachRange
        From nothing to where a burn begins: what this rate lets expect between burns.
    burns : tuple of BurnFound
    no_burns : str
        Why no burn can be judged; empty where one was looked for.
    targets : Targets
    """

    rate: SootRate
    band: RateBanded
    soot_now_g: float | None
    to_burn: ReachRange
    to_limit: ReachRange
    between_burns: ReachRange
    burns: tuple[BurnFound, ...]
    no_burns: str
    targets: Targets


def drive_judged(drive: Drive, targets: Targets, limits: Thresholds = DEFAULTS) -> DriveJudged:
    """Answer what one log tells of soot and of burns.

    Parameters
    ----------
    drive : Drive
        Whatever columns it has: what lacks one is "not known", with the column that is missing.
    targets : Targets
    limits : Thresholds

    Returns
    -------
    DriveJudged

    Examples
    --------
    >>> from garage.evidence.drives.targets import FilterSaid, targets_of
    >>> km = tuple(k / 10 for k in range(1001))
    >>> log = Drive(1001, distance_km=km, soot_g=tuple(2 + 0.04 * k for k in km))
    >>> judged = drive_judged(log, targets_of(FilterSaid(litres=3.0)))
    >>> round(judged.to_limit.near_km), judged.no_burns
    (225, 'no burn can be judged: the log has no time')
    """
    rate = _rate(drive, limits)
    now_g = _last(drive)
    no_burns = _no_burns(drive, limits)
    return DriveJudged(
        rate=rate,
        band=rate_banded(rate, limits),
        soot_now_g=now_g,
        to_burn=_reach(now_g, rate, targets.trigger, limits),
        to_limit=(
            ReachRange(None, None, targets.limit_reason)
            if targets.limit is None
            else _reach(now_g, rate, targets.limit, limits)
        ),
        between_burns=reach_range(0.0, rate, targets.trigger, limits),
        burns=() if no_burns else burns_found(drive, limits),
        no_burns=no_burns,
        targets=targets,
    )


def _rate(drive: Drive, limits: Thresholds) -> SootRate:
    lacks = _lacks(drive, "distance_km", "soot_g")
    if lacks:
        return SootRate(RateStatus.TOO_SHORT, lacks, None, None, None, 0.0, None, 0, 0)
    return soot_rate(drive, limits)


def _no_burns(drive: Drive, limits: Thresholds) -> str:
    """Why no burn can be judged; empty where one can."""
    lacks = _lacks(drive, "time_s", "soot_g")
    if not lacks:
        _, soot = drive.together("time_s", "soot_g")
        falls = len(falls_found(soot.tolist(), limits["soot_fall_least_g"]))
        if falls > FALLS_MOST:
            lacks = f"its soot falls {falls} times, more often than burns come; is it soot?"
    return f"no burn can be judged: {lacks}" if lacks else ""


def _lacks(drive: Drive, *keys: str) -> str:
    """Which columns, or rows with all of them, are missing; empty where none is."""
    missing = drive.missing(*keys)
    if missing:
        return f"the log has no {' and no '.join(_HEADS[key] for key in missing)}"
    if not drive.together(*keys).shape[1]:
        return f"no row has both {' and '.join(_HEADS[key] for key in keys)}"
    return ""


def _last(drive: Drive) -> float | None:
    return next((each for each in reversed(drive.soot_g or ()) if each is not None), None)


def _reach(now_g: float | None, rate: SootRate, to: Target, limits: Thresholds) -> ReachRange:
    if now_g is None:
        return ReachRange(None, None, "no soot was read")
    if now_g < 0:
        return ReachRange(None, None, f"a soot of {now_g:g} g is no mass; read it again")
    return reach_range(now_g, rate, to, limits)

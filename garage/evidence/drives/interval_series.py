"""Distances between burns taken from where they are known, and followed in order."""

from collections.abc import Sequence
from itertools import accumulate, pairwise

from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.intervals import BurnIntervals, burn_intervals
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.thresholds import Thresholds

_BURNED = (BurnStatus.COMPLETED, BurnStatus.BROKEN_OFF)


def intervals_seen(burns: Sequence[BurnFound]) -> tuple[float, ...]:
    """Answer how far apart neighbouring burns of one log lie, in km.

    Only where both burned: a fall that cannot be told, or was set back, may hide a burn or be
    none, and parts no interval.

    Examples
    --------
    >>> from garage.evidence.drives.burn import BurnJudged
    >>> burned = BurnJudged(BurnStatus.COMPLETED, "", 1)
    >>> intervals_seen([BurnFound(burned, end_km=120.0), BurnFound(burned, end_km=530.0)])
    (410.0,)
    """
    return tuple(
        after.end_km - before.end_km
        for before, after in pairwise(burns)
        if before.burn.status in _BURNED
        and after.burn.status in _BURNED
        and before.end_km is not None
        and after.end_km is not None
        and after.end_km > before.end_km
    )


def series_followed(
    intervals_km: Sequence[float], limits: Thresholds = DEFAULTS
) -> BurnIntervals | None:
    """Answer how long these intervals are and whether they shrink; None where there is none.

    They need not follow one upon the other: months may lie between them.

    Raises ValueError for an interval that is not above 0.

    Examples
    --------
    >>> series_followed([400.0, 410.0]).mean_km
    405.0
    """
    if not intervals_km:
        return None
    return burn_intervals(list(accumulate(intervals_km, initial=0.0)), limits)

"""Every burn of a log judged by itself, and where in the log it lies."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from garage.evidence.drives.burn import BurnJudged, burn_judged
from garage.evidence.drives.columns import QUANTITIES
from garage.evidence.drives.falls import Fall, falls_found
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class BurnFound:
    """A burn, or what looks like one.

    Attributes
    ----------
    burn : BurnJudged
    start_s, end_s : float or None
        When soot began to fall and when it was lowest, from the first row; None where none fell.
    end_km : float or None
        The distance column at the end; None where none fell, or no distance was read.
    """

    burn: BurnJudged
    start_s: float | None = None
    end_s: float | None = None
    end_km: float | None = None


def burns_found(drive: Drive, limits: Thresholds = DEFAULTS) -> tuple[BurnFound, ...]:
    """Answer what each fall of soot in this log was.

    The log is parted halfway in time between one fall and the next, so that heat belongs to the
    fall that it lies near. Without any fall there is one answer, which says so.

    Parameters
    ----------
    drive : Drive
        With ``time_s`` and ``soot_g``.
    limits : Thresholds

    Returns
    -------
    tuple of BurnFound
        In order, at least one.

    Raises
    ------
    ValueError
        For a drive without time or soot.

    Examples
    --------
    >>> minutes = range(21)
    >>> log = Drive(21, time_s=tuple(60.0 * m for m in minutes),
    ...     soot_g=tuple(20.0 - 0.9 * m for m in minutes), inlet_c=(610.0,) * 21)
    >>> [(found.burn.status.value, found.end_s) for found in burns_found(log)]
    [('completed', 1200.0)]
    """
    seconds, soot = drive.together("time_s", "soot_g")
    falls = falls_found(soot.tolist(), limits["soot_fall_least_g"])
    if not falls:
        return (BurnFound(burn_judged(drive, limits)),)
    cuts = [
        (float(seconds[before.end]) + float(seconds[after.start])) / 2
        for before, after in pairwise(falls)
    ]
    edges = [-np.inf, *cuts, np.inf]
    found = []
    timed = _Timed.of(drive)
    for fall, (first_s, last_s) in zip(falls, pairwise(edges), strict=True):
        part = timed.between(first_s, last_s)
        start_s, end_s = _at(seconds, fall)
        found.append(BurnFound(burn_judged(part, limits), start_s, end_s, _km_at(drive, end_s)))
    return tuple(found)


def _at(seconds: np.ndarray[tuple[int], np.dtype[np.float64]], fall: Fall) -> tuple[float, float]:
    return float(seconds[fall.start]), float(seconds[fall.end])


@dataclass(frozen=True, slots=True)
class _Timed:
    """The rows of a log that have a time, in order."""

    drive: Drive
    rows: list[int]
    times_s: list[float]

    @classmethod
    def of(cls, drive: Drive) -> "_Timed":
        timed = [(row, at_s) for row, at_s in enumerate(drive.time_s or ()) if at_s is not None]
        return cls(drive, [row for row, _ in timed], [at_s for _, at_s in timed])

    def between(self, first_s: float, last_s: float) -> Drive:
        """The rows of a stretch of time, both ends with it."""
        start, end = bisect_left(self.times_s, first_s), bisect_right(self.times_s, last_s)
        kept = self.rows[start:end]
        columns: dict[str, Any] = {}
        for each in QUANTITIES:
            column = getattr(self.drive, each.key)
            columns[each.key] = None if column is None else tuple(column[row] for row in kept)
        return Drive(len(kept), **columns)


def _km_at(drive: Drive, at_s: float) -> float | None:
    """The distance at the last row up to then that has one."""
    if drive.distance_km is None:
        return None
    seconds, km = drive.together("time_s", "distance_km")
    place = int(np.searchsorted(seconds, at_s, side="right"))
    return float(km[place - 1]) if place else None

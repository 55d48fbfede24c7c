"""How vehicles' annual distances change: from year to year by chance, and steadily with time."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.status import Status
from garage.lifetimes.usage.annual_distance import (
    SMALLEST_KM_PER_YEAR,
    YEAR_LOG_SD,
    spread_between,
)

YEAR_SLACK = 1 / 24
"""Years; a service a fortnight early still closes a year. Judgement, no source."""

FEWEST_FREE_YEARS = 20
"""Intervals beyond the lines through them, from which the scatter is told: it is then right to
about a sixth. Judgement, no source."""

FEWEST_LINES = 10
"""Vehicles with two intervals or more, from which a steady change is told. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class YearlyChange:
    """How the logarithm of one vehicle's annual distance moves; made by `yearly_change`.

    Attributes
    ----------
    year_log_sd : float
        Scatter of single years about the vehicle's own line.
    drift : float
        Mean steady change a year; -0.1 is a tenth less every year.
    drift_sd : float
        How much the steady change differs between vehicles.
    drift_error : float
        Standard error of the mean change, vehicles taken as independent.
    seen_years : float
        Longest time over which a steady change was seen; beyond it none is assumed.
    n, intervals : int
        Vehicles with two intervals or more, and their intervals.
    status : Status
        ``FEW_CLUSTERS`` where the scatter is the judged `YEAR_LOG_SD` and no steady change is
        told.
    """

    year_log_sd: float
    drift: float
    drift_sd: float
    drift_error: float
    seen_years: float
    n: int
    intervals: int
    status: Status
    reason: str


def judged_change(n: int = 0, intervals: int = 0) -> YearlyChange:
    """What is assumed where readings do not tell: the judged scatter, and no steady change."""
    return YearlyChange(
        year_log_sd=YEAR_LOG_SD,
        drift=0.0,
        drift_sd=0.0,
        drift_error=0.0,
        seen_years=0.0,
        n=n,
        intervals=intervals,
        status=Status.FEW_CLUSTERS,
        reason=f"only {n} vehicles were read over two years or more, {intervals} years in all; "
        "a steady change is not told, and the scatter between years is judged",
    )


def yearly_change(vehicle: ArrayLike, at_years: ArrayLike, odometer_km: ArrayLike) -> YearlyChange:
    """Tell the scatter between a vehicle's years, and its steady change, from its readings.

    Parameters
    ----------
    vehicle : array, shape (r,)
        Code of the vehicle of each reading; any order.
    at_years : array, shape (r,)
        When it was read, in years from any common day.
    odometer_km : array, shape (r,)
        Distance since new, never falling within a vehicle: readings in doubt are set aside
        before, and the distance before a new odometer is added.

    Returns
    -------
    YearlyChange
        `judged_change` where fewer than ten vehicles have two yearly intervals, or fewer than
        twenty intervals are left beyond the lines.

    Raises
    ------
    ValueError
        Unequal lengths, values that are not finite, an odometer that falls.

    Notes
    -----
    Readings are thinned to one a year, so that weeks stood still or driven hard do not count
    as scatter. The logarithm of each interval's annual distance is a line in time for each
    vehicle, plus scatter of variance year_log_sd^2 / length. The scatter comes from the residuals
    about the vehicles' own lines, the mean and spread of their slopes from the slopes, each with
    its variance by scatter (Paule and Mandel, as in `annual_distance`). Not told apart: what
    hits all vehicles in one calendar year counts as their own, so `drift_error` is too small.

    Examples
    --------
    >>> years = np.arange(5.0)
    >>> km = np.concatenate([[0, 20e3, 38e3, 54.2e3, 68.8e3], [0, 12e3, 25e3, 34e3, 46e3]])
    >>> found = yearly_change([0] * 5 + [1] * 5, np.tile(years, 2), km)
    >>> found.n, found.intervals, found.status.value
    (2, 8, 'few_clusters')
    """
    code, time, km = _readings(vehicle, at_years, odometer_km)
    rows = [_line(*each) for each in _intervals(code, time, km)]
    lines = np.array([each for each in rows if each is not None]).reshape(-1, 5)
    slope, information, residual, count, seen = lines.T
    n, intervals = len(lines), int(count.sum())
    free = int((count - 2).sum())
    if n < FEWEST_LINES or free < FEWEST_FREE_YEARS:
        return judged_change(n, intervals)
    variance = float(residual.sum()) / free
    noise = variance / information
    spread = spread_between(slope, noise, np.zeros(n, np.int64), 1) or 0.0
    weight = 1 / (noise + spread)
    return YearlyChange(
        year_log_sd=float(np.sqrt(variance)),
        drift=float(weight @ slope / weight.sum()),
        drift_sd=float(np.sqrt(spread)),
        drift_error=float(np.sqrt(1 / weight.sum())),
        seen_years=float(seen.max()),
        n=n,
        intervals=intervals,
        status=Status.OK,
        reason="",
    )


def _readings(
    vehicle: ArrayLike, at_years: ArrayLike, odometer_km: ArrayLike
) -> tuple[IntArray, FloatArray, FloatArray]:
    given = np.asarray(vehicle)
    time, km = np.asarray(at_years, np.float64), np.asarray(odometer_km, np.float64)
    if given.ndim != 1 or not given.shape == time.shape == km.shape:
        raise ValueError(
            "one vehicle, time and odometer value a reading; got shapes "
            f"{given.shape}, {time.shape}, {km.shape}"
        )
    if not (np.all(np.isfinite(time)) and np.all(np.isfinite(km))):
        raise ValueError("times and odometer values are finite; leave unfinished readings out")
    code = np.unique(given, return_inverse=True)[1].astype(np.int64)
    order = np.lexsort((km, time, code))
    code, time, km = code[order], time[order], km[order]
    falls = (code[1:] == code[:-1]) & (km[1:] < km[:-1])
    if np.any(falls):
        index = int(np.flatnonzero(falls)[0])
        raise ValueError(
            f"an odometer never falls; got {km[index]:.0f} km, then {km[index + 1]:.0f} km. Set "
            "readings in doubt aside before, and add the distance before a new odometer."
        )
    return code, time, km


def _intervals(
    code: IntArray, time: FloatArray, km: FloatArray
) -> list[tuple[FloatArray, FloatArray]]:
    """Times and distances of readings about a year apart, by vehicle."""
    edges = np.flatnonzero(np.diff(code, prepend=-1, append=-1)).tolist()
    kept = [_year_apart(time[start:end]) + start for start, end in pairwise(edges)]
    return [(time[each], km[each]) for each in kept]


def _year_apart(time: FloatArray) -> IntArray:
    """From the first time on, the one nearest to a year after the last taken."""
    taken = [0]
    while True:
        due = time[taken[-1]] + 1
        early = int(np.searchsorted(time, due - YEAR_SLACK))
        after = int(np.searchsorted(time, due))
        near = [each for each in (after - 1, after) if early <= each < len(time)]
        if not near:
            return np.array(taken)
        taken.append(min(near, key=lambda each: abs(time[each] - due)))


def _line(time: FloatArray, km: FloatArray) -> tuple[float, float, float, float, float] | None:
    """Slope, its information, squared residuals, intervals and time between their middles."""
    if len(time) < 3:
        return None
    length = np.diff(time)
    rate = np.log(np.maximum(np.diff(km) / length, SMALLEST_KM_PER_YEAR))
    middle = (time[1:] + time[:-1]) / 2
    weight = length / length.sum()
    away, above = middle - weight @ middle, rate - weight @ rate
    information = float(length @ away**2)
    slope = float(length @ (away * above)) / information
    residual = float(length @ (above - slope * away) ** 2)
    return slope, information, residual, float(len(length)), float(time[-1] - time[0])

"""Distances between burns: their mean, and whether they shrink."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite, sqrt

import numpy as np
from scipy.special import stdtrit

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.thresholds import Thresholds

#: With four intervals no order of theirs has a two-sided chance below 0.05 (2 in 24).
_TREND_LEAST = 5
_P_MOST = 0.05


class IntervalTrend(StrEnum):
    """What several intervals show."""

    FALLING = "falling"
    RISING = "rising"
    STEADY = "steady"
    CANNOT_BE_TOLD = "cannot_be_told"


@dataclass(frozen=True, slots=True)
class BurnIntervals:
    """Distances between burns.

    Attributes
    ----------
    intervals_km : tuple of float
        In order.
    mean_km : float
    low_km, high_km : float or None
        95 % limits of the mean (Student's t); None with one interval.
    trend : IntervalTrend
    reason : str
    slope_km, slope_low_km, slope_high_km : float or None
        Change from one interval to the next (Theil-Sen) and its 95 % limits (Sen); None with
        fewer than five.
    p_value : float or None
        Kendall's test, two-sided.
    """

    intervals_km: tuple[float, ...]
    mean_km: float
    low_km: float | None
    high_km: float | None
    trend: IntervalTrend
    reason: str
    slope_km: float | None = None
    slope_low_km: float | None = None
    slope_high_km: float | None = None
    p_value: float | None = None


def burn_intervals(odometers_km: Sequence[float], limits: Thresholds = DEFAULTS) -> BurnIntervals:
    """Answer how far apart burns are, and whether ever closer.

    The limits of the mean take the intervals for a sample of one use: where they fall or rise,
    the mean says little. Steady is said only where the limits of the slope allow no change worth
    naming over all intervals; else it cannot be told.

    Parameters
    ----------
    odometers_km : sequence of float
        At each burn, in order; at least two.
    limits : Thresholds

    Returns
    -------
    BurnIntervals

    Raises
    ------
    ValueError
        For fewer than two, or a burn not further on than the one before.

    Notes
    -----
    Sen, Journal of the American Statistical Association 63 (1968), 1379-1389, through
    scipy.stats.

    Examples
    --------
    >>> found = burn_intervals([0, 600, 1120, 1580, 1960, 2270, 2500])
    >>> found.trend.value, round(found.slope_km), round(found.mean_km)
    ('falling', -73, 417)
    """
    gaps = _gaps(odometers_km)
    mean = float(gaps.mean())
    count = len(gaps)
    low = high = None
    if count > 1:
        half = float(stdtrit(count - 1, 0.975)) * float(gaps.std(ddof=1)) / sqrt(count)
        low, high = max(0.0, mean - half), mean + half
    told = tuple(float(each) for each in gaps)
    if count < _TREND_LEAST:
        words = f"{count} intervals; a trend takes {_TREND_LEAST}"
        return BurnIntervals(told, mean, low, high, IntervalTrend.CANNOT_BE_TOLD, words)
    # Imported here: scipy.stats takes longer to load than all the rest together.
    from scipy.stats import kendalltau, theilslopes

    order = np.arange(count)
    line = theilslopes(gaps, order, alpha=0.95)
    # All alike, Kendall's measure has no value; nothing speaks for a trend then.
    p = 1.0 if np.ptp(gaps) == 0 else float(kendalltau(order, gaps).pvalue)
    slope, down, up = float(line.slope), float(line.low_slope), float(line.high_slope)
    band = limits["interval_steady_share"] * mean / (count - 1)
    trend = IntervalTrend.CANNOT_BE_TOLD
    if p < _P_MOST and slope != 0:
        trend = IntervalTrend.FALLING if slope < 0 else IntervalTrend.RISING
    elif -band <= down and up <= band:
        trend = IntervalTrend.STEADY
    words = (
        f"{count} intervals, {slope:+.0f} km from one to the next (95 % limits {down:+.0f} to "
        f"{up:+.0f}, p = {p:.3f})"
    )
    return BurnIntervals(told, mean, low, high, trend, words, slope, down, up, p)


def _gaps(odometers_km: Sequence[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    if len(odometers_km) < 2 or not all(isfinite(each) for each in odometers_km):
        raise ValueError(
            f"an interval takes two burns or more, each with its odometer; got "
            f"{list(odometers_km)}. Add a burn"
        )
    gaps = np.diff(np.asarray(odometers_km, dtype=np.float64))
    if not bool((gaps > 0).all()):
        place = int(np.argmin(gaps > 0)) + 1
        raise ValueError(
            f"each burn is further on than the one before; got {odometers_km[place]:g} km after "
            f"{odometers_km[place - 1]:g} km. Put them in order, each once"
        )
    return gaps

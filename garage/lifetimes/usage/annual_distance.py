"""How far each vehicle goes in a year: its own distance, shrunk towards its group's."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

YEAR_LOG_SD = 0.35
"""Spread of the logarithm of one vehicle's distance from one year to the next. Judgement, no
source: a vehicle's years lie mostly within a third of one another."""

VEHICLE_LOG_SD = 0.5
"""Spread between vehicles of a group where too few are measured to tell. Judgement, no source."""

SMALLEST_KM_PER_YEAR = 100.0
"""A vehicle that stood still has no logarithm; it counts as one that is hardly moved.
Judgement, no source."""

FALLBACK_KM_PER_YEAR = 12_700.0
"""Where nothing at all is measured: about the mean of cars in England in 2013, 7 900 miles
(national travel survey as quoted in the press)."""


@dataclass(frozen=True, slots=True, eq=False)
class AnnualDistances:
    """Annual distance of each vehicle, in the order given.

    Attributes
    ----------
    km_per_year : array, shape (n,)
        Median of what is believed of the vehicle's long-run annual distance.
    log_sd : array, shape (n,)
        Standard deviation of its natural logarithm.
    n, measured : int
        Vehicles, and those among them with two readings or more.
    vehicle_log_sd : float
        Spread of the logarithm between vehicles of one group.
    status : Status
        ``NO_LIVES`` where no vehicle is measured and a fallback stands in.
    """

    km_per_year: FloatArray
    log_sd: FloatArray
    n: int
    measured: int
    vehicle_log_sd: float
    status: Status
    reason: str


def annual_distance(
    distance_km: ArrayLike,
    years: ArrayLike,
    group: ArrayLike,
    *,
    year_log_sd: float = YEAR_LOG_SD,
) -> AnnualDistances:
    """Estimate every vehicle's annual distance, lending it the strength of its group.

    Parameters
    ----------
    distance_km : array, shape (n,)
        Distance between the vehicle's first and last reading, 0 or more; any value, also NaN,
        where `years` is 0.
    years : array, shape (n,)
        Time between them; 0 or NaN for a vehicle with one reading or none.
    group : array, shape (n,)
        Codes of the groups (engine families, duties).
    year_log_sd : float
        Above 0; how much one vehicle's years differ.

    Returns
    -------
    AnnualDistances

    Notes
    -----
    The logarithm of a measured rate is normal about the vehicle's own with variance
    year_log_sd**2 / years; those of the vehicles are normal about their group's mean, and the
    groups' about a common one. The two spreads are found by equating squared deviations with
    their expectations (Paule and Mandel, Journal of Research of the National Bureau of
    Standards 87, 1982; from memory). A vehicle without a measured distance gets its group's;
    a group without one gets the common mean.

    Examples
    --------
    >>> found = annual_distance([60_000, 20_000, 0], [4, 2, 0], [0, 0, 0])
    >>> found.km_per_year.round(-2).tolist()
    [13900.0, 11600.0, 12700.0]
    """
    km, span = np.asarray(distance_km, np.float64), np.asarray(years, np.float64)
    code = np.unique(np.asarray(group), return_inverse=True)[1]
    if not (np.isfinite(year_log_sd) and year_log_sd > 0):
        raise ValueError(f"a spread is a finite number above 0; got {year_log_sd}")
    if not km.shape == span.shape == code.shape:
        raise ValueError(
            f"one distance, time and group a vehicle; got {km.shape}, {span.shape}, {code.shape}"
        )
    measured = np.isfinite(span) & (span > 0) & np.isfinite(km)
    if np.any(span < 0) or np.any(km[measured] < 0):
        raise ValueError(
            "distances and times are never below 0; set a reading in doubt aside before"
        )
    if not np.any(measured):
        return AnnualDistances(
            np.full(len(km), FALLBACK_KM_PER_YEAR),
            np.full(len(km), VEHICLE_LOG_SD),
            len(km),
            0,
            VEHICLE_LOG_SD,
            Status.NO_LIVES,
            "no vehicle has two readings; "
            f"{spoken(FALLBACK_KM_PER_YEAR, 'km')} a year stands in for all",
        )
    return _shrunken(km, span, code.astype(np.int64), measured, year_log_sd)


def _shrunken(
    km: FloatArray, span: FloatArray, code: IntArray, measured: BoolArray, year_log_sd: float
) -> AnnualDistances:
    groups = int(code.max()) + 1
    rate = np.log(np.maximum(km[measured] / span[measured], SMALLEST_KM_PER_YEAR))
    noise, within = year_log_sd**2 / span[measured], code[measured]
    spread = spread_between(rate, noise, within, groups)
    if spread is None:
        spread = VEHICLE_LOG_SD**2
    weight = 1 / (noise + spread)
    mass = np.bincount(within, weight, groups)
    seen = mass > 0
    mean = np.bincount(within, weight * rate, groups)[seen] / mass[seen]
    belief, doubt = _group_beliefs(mean, 1 / mass[seen], seen)
    centre, centre_doubt = belief[code], doubt[code]
    trust = np.zeros(len(km))
    trust[measured] = spread / (spread + noise)
    log_rate = centre.copy()
    log_rate[measured] += trust[measured] * (rate - centre[measured])
    variance = (1 - trust) * spread + (1 - trust) ** 2 * centre_doubt
    return AnnualDistances(
        np.exp(log_rate),
        np.sqrt(variance),
        len(km),
        int(measured.sum()),
        float(np.sqrt(spread)),
        Status.OK,
        "",
    )


def _group_beliefs(
    mean: FloatArray, noise: FloatArray, seen: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Means of all groups shrunk to the common one, and their variances."""
    everyone = np.zeros(len(mean), np.int64)
    spread = spread_between(mean, noise, everyone, 1)
    if spread is None:
        # One group measured: nothing says how much groups differ, so it keeps its own mean.
        return np.full(len(seen), mean[0]), np.full(len(seen), float(noise[0]))
    weight = 1 / (noise + spread)
    common, common_doubt = float(weight @ mean / weight.sum()), 1 / float(weight.sum())
    belief, doubt = np.full(len(seen), common), np.full(len(seen), spread + common_doubt)
    trust = spread / (spread + noise)
    belief[seen] = common + trust * (mean - common)
    doubt[seen] = trust * noise + (1 - trust) ** 2 * common_doubt
    return belief, doubt


def spread_between(
    value: FloatArray, noise: FloatArray, group: IntArray, groups: int
) -> float | None:
    """Variance of true values within groups, beyond the noise; None where none has two."""
    freedom = len(value) - len(np.unique(group))
    if freedom < 1:
        return None

    def excess(spread: float) -> float:
        weight = 1 / (noise + spread)
        mass = np.maximum(np.bincount(group, weight, groups), np.finfo(np.float64).tiny)
        mean = np.bincount(group, weight * value, groups) / mass
        return float(weight @ (value - mean[group]) ** 2) - freedom

    if excess(0.0) <= 0:
        return 0.0
    top = 1.0
    while excess(top) > 0:
        top *= 4
    return float(brentq(excess, 0.0, top, xtol=1e-10))

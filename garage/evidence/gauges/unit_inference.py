"""Which unit a display without one is showing, told by its slope against a known gauge."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.units import NONE_OF_THESE, PA_PER_UNIT
from garage.evidence.thresholds import Thresholds

Vector = NDArray[np.float64]
# Slopes, shown per Pa, that "none of these" spreads over: wider than from bar to Pa on both sides,
# and as much again for displays that fall while the pressure rises.
_NONE_LEAST, _NONE_MOST, _NONE_STEPS = 1e-6, 10.0, 800
_NORMAL_95 = 1.959963984540054
_FALLS = (
    "the display falls while the pressure rises, as with hoses swapped; put the pressure on the "
    "other hose and take the pairs anew"
)


@dataclass(frozen=True, slots=True)
class Pair:
    """What a known gauge applied, and what the display showed."""

    applied_pa: float
    shown: float
    shown_resolution: float
    applied_uncertainty_pa: float = 0.0
    applied_resolution_pa: float = 0.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """A unit with its probability."""

    unit: str
    probability: float


@dataclass(frozen=True, slots=True)
class Fit:
    """The line shown = offset + slope x applied, with 95 % limits; offset as shown."""

    slope_per_pa: float
    slope_limits_per_pa: tuple[float, float]
    offset_shown: float
    offset_limits_shown: tuple[float, float]


@dataclass(frozen=True, slots=True)
class UnitInference:
    """The candidates in order, and the unit if one is decided."""

    status: str
    reason: str
    candidates: tuple[Candidate, ...]
    fit: Fit | None
    unit: str | None
    next_applied_pa: float | None


def unit_inferred(
    pairs: Sequence[Pair],
    sensor_range_pa: float | None = None,
    prior: Mapping[str, float] | None = None,
    limits: Thresholds = DEFAULTS,
) -> UnitInference:
    """Answer which unit a display shows, by its slope and never by its offset.

    Parameters
    ----------
    pairs : sequence of Pair
        Applied in Pa; shown as the display has it.
    sensor_range_pa : float, optional
        The next pair asked for never lies above it.
    prior : mapping, optional
        Weight per unit, remembered from before; equal where not given.

    Returns
    -------
    UnitInference
        Status ``decided`` or ``cannot be told``; a display that falls is never decided, nor is
        another pair asked for. The offset has a flat prior, the same for all
        units, so pairs at one pressure alone leave the prior as it was.

    Raises
    ------
    ValueError
        For a value that is not finite, or a resolution of the display that is not positive.

    Notes
    -----
    Marginal likelihood of what was shown, the offset taken out; the gain error of a sound sensor
    is normal (a threshold). Uniform resolutions enter by their variance, width squared over 12
    (JCGM 100:2008, 4.3.7, from memory).

    Examples
    --------
    >>> unit_inferred([Pair(0, 0, 1), Pair(10_000, 101, 1)]).unit
    'hPa (= mbar)'
    """
    _check(pairs, sensor_range_pa, prior)
    names = [*PA_PER_UNIT, NONE_OF_THESE]
    weights = np.array([1.0 if prior is None else prior.get(name, 0.0) for name in names])
    with np.errstate(divide="ignore"):
        logs = np.log(weights) + np.array([_evidence(name, pairs, limits) for name in names])
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    ranked = tuple(
        sorted(
            (Candidate(n, float(p)) for n, p in zip(names, shares, strict=True)),
            key=lambda each: -each.probability,
        )
    )
    fit = _fit(pairs)
    if fit is not None and fit.slope_limits_per_pa[1] < 0:
        return UnitInference("cannot be told", _FALLS, ranked, fit, None, None)
    leader = ranked[0]
    sure = leader.probability >= limits["unit_decided_probability"]
    if fit is not None and sure and leader.unit != NONE_OF_THESE:
        reason = f"the slope fits {leader.unit} and no other"
        return UnitInference("decided", reason, ranked, fit, leader.unit, None)
    following = _next_applied_pa(pairs, sensor_range_pa, limits)
    reason = (
        "all pairs are at one pressure, and an offset alone decides no unit"
        if fit is None
        else "the slope fits none of the units"
        if leader.unit == NONE_OF_THESE
        else f"{leader.unit} and {ranked[1].unit} are not parted"
    )
    if following is not None:
        reason += f"; take one more pair at about {following:.0f} Pa"
    return UnitInference("cannot be told", reason, ranked, fit, None, following)


def _check(
    pairs: Sequence[Pair], range_pa: float | None, prior: Mapping[str, float] | None
) -> None:
    for pair in pairs:
        if not (isfinite(pair.applied_pa) and isfinite(pair.shown)):
            raise ValueError(f"a pair has two finite values; got {pair}; read it again")
        if not (isfinite(pair.shown_resolution) and pair.shown_resolution > 0):
            raise ValueError(
                "`shown_resolution` is above 0, the display's last step; "
                f"got {pair.shown_resolution}; count its decimals"
            )
        for each in (pair.applied_uncertainty_pa, pair.applied_resolution_pa):
            if not (isfinite(each) and each >= 0):
                raise ValueError(f"a gauge's uncertainty is 0 or more; got {each}; look it up")
    if range_pa is not None and not (isfinite(range_pa) and range_pa > 0):
        raise ValueError(f"`sensor_range_pa` is above 0; got {range_pa}; leave out if not known")
    if prior is not None:
        wrong = [n for n in prior if n not in PA_PER_UNIT and n != NONE_OF_THESE]
        if wrong or any(not (isfinite(w) and w >= 0) for w in prior.values()):
            raise ValueError(f"`prior` gives known units weights of 0 or more; got {dict(prior)}")
        if not sum(prior.values()) > 0:
            raise ValueError("`prior` gives some unit a weight above 0; got none; leave it out")


def _variances(pairs: Sequence[Pair]) -> tuple[Vector, Vector]:
    applied = [p.applied_uncertainty_pa**2 + p.applied_resolution_pa**2 / 12 for p in pairs]
    return np.array(applied), np.array([p.shown_resolution**2 / 12 for p in pairs])


def _evidence(name: str, pairs: Sequence[Pair], limits: Thresholds) -> float:
    """Log of the marginal likelihood, the offset taken out."""
    if len({p.applied_pa for p in pairs}) < 2:
        return 0.0
    spread = limits["sound_gain_spread_share"]
    if name != NONE_OF_THESE:
        return float(_log_densities(pairs, np.array([1 / float(PA_PER_UNIT[name])]), spread)[0])
    rising = np.geomspace(_NONE_LEAST, _NONE_MOST, _NONE_STEPS)
    logs = _log_densities(pairs, np.concatenate([rising, -rising]), spread)
    return float(logs.max() + np.log(np.sum(np.exp(logs - logs.max())) / _NONE_STEPS))


def _log_densities(pairs: Sequence[Pair], slopes: Vector, gain_spread: float) -> Vector:
    """Of the shown values at each slope, but for a constant; offset flat, gain error normal.

    Sums about the weighted mean, not an inverse: that of a display with many digits is singular in
    floating point.
    """
    applied = np.array([p.applied_pa for p in pairs])
    shown = np.array([p.shown for p in pairs])
    of_applied, of_shown = _variances(pairs)
    variance = slopes[:, None] ** 2 * of_applied + of_shown
    weight = 1 / variance
    total = weight.sum(axis=1)
    across = applied - (weight @ applied / total)[:, None]
    gap = shown - (weight @ shown / total)[:, None] - slopes[:, None] * across
    spread = (weight * across**2).sum(axis=1)
    firm = 1 / (gain_spread * slopes) ** 2  # how firmly a sound sensor holds its gain
    lean = (weight * across * gap).sum(axis=1) / (spread + firm)
    square = (weight * (gap - lean[:, None] * across) ** 2).sum(axis=1) + lean**2 * firm
    log_det = np.log(variance).sum(axis=1) + np.log(total) + np.log1p(spread / firm)
    logs: Vector = -0.5 * (square + log_det)
    return logs


def _fit(pairs: Sequence[Pair]) -> Fit | None:
    applied = np.array([p.applied_pa for p in pairs])
    if len(set(applied.tolist())) < 2:
        return None
    shown = np.array([p.shown for p in pairs])
    of_applied, of_shown = _variances(pairs)
    weight = np.ones_like(applied)
    for _ in range(4):  # all alike, then as the slope carries the gauge's error into what is shown
        total = float(weight.sum())
        middle = float(weight @ applied) / total
        across = applied - middle
        square = float(weight @ across**2)
        slope = float((weight * across) @ shown) / square
        offset = float(weight @ shown) / total - slope * middle
        lean, off = _NORMAL_95 / sqrt(square), _NORMAL_95 * sqrt(1 / total + middle**2 / square)
        weight = 1 / (of_shown + slope**2 * of_applied)
    return Fit(slope, (slope - lean, slope + lean), offset, (offset - off, offset + off))


def _next_applied_pa(
    pairs: Sequence[Pair], range_pa: float | None, limits: Thresholds
) -> float | None:
    """The pressure farthest from those taken: slopes part most over the longest step."""
    most = (
        limits["applied_most_pa"] if range_pa is None else min(limits["applied_most_pa"], range_pa)
    )
    if not pairs:
        return most
    least = min(limits["applied_least_pa"], most)
    mean = sum(p.applied_pa for p in pairs) / len(pairs)
    return max((most, least), key=lambda each: abs(each - mean))

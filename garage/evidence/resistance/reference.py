"""Reference range of an engine family from readings of its filters in a known state."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.model import STANDARD_REFERENCE
from garage.evidence.resistance.order import (
    Floats,
    one_sided_high,
    quantile_ranks,
    values_needed,
)
from garage.evidence.thresholds import Basis, Thresholds

QUANTILE_SHARES = (0.05, 0.10, 0.50, 0.90, 0.95)


class ReferenceStatus(StrEnum):
    """Whether the range is the family's own."""

    OK = "ok"
    COMMON_PRACTICE = "common_practice"
    """Too few vehicles: the range is that of cars and light vans in general."""
    NO_RANGE = "no_range"
    """Too few vehicles, and common practice gives no range for such readings."""


@dataclass(frozen=True, slots=True)
class Quantile:
    """One quantile; a figure that the number of vehicles cannot carry is None, with a reason.

    `low` and `high` are limits at the confidence asked for, both ends together; `one_sided_high`
    is the upper limit alone at the same confidence.
    """

    share: float
    value: float | None
    low: float | None
    high: float | None
    one_sided_high: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class FamilyReference:
    """Range of what was asked, in its unit, with the vehicles it rests on.

    `n` counts vehicles, one value each; `readings` counts what came.
    """

    status: ReferenceStatus
    reason: str
    basis: Basis
    n: int
    readings: int
    quantiles: tuple[Quantile, ...]

    def at(self, share: float) -> Quantile:
        """The quantile of this share; KeyError for one that was not reckoned."""
        for each in self.quantiles:
            if each.share == share:
                return each
        raise KeyError(share)


@dataclass(frozen=True, slots=True)
class CommonPressure:
    """Between which limits common practice has a sound filter; no least: from zero on."""

    least_key: str | None
    most_key: str


COMMON_IDLE = CommonPressure(None, "idle_usual_most_mbar")
COMMON_RAISED = CommonPressure("raised_sound_least_mbar", "raised_usual_most_mbar")


def family_reference(
    resistance_mbar_per_m3_per_h: Sequence[float] | Floats,
    vehicles: Sequence[str | int],
    limits: Thresholds = DEFAULTS,
) -> FamilyReference:
    """What does a filter in a known state read in this engine family?

    Parameters
    ----------
    resistance_mbar_per_m3_per_h : sequence of float
        Indices at one reference, of sound, freshly burned or new filters; one state a call.
    vehicles : sequence of str or int
        Whose reading each is. A vehicle counts once, with the median of its own, so that one read
        often weighs no more.
    limits : Thresholds

    Returns
    -------
    FamilyReference
        Quantiles of 5, 10, 50, 90 and 95 % (median-unbiased, Hyndman and Fan's eighth) with limits
        from the order of values. Below the fewest vehicles: the range of common practice, whose
        middle is not known.

    Raises
    ------
    ValueError
        For lengths that differ, or a value that is not a finite number above zero.

    Examples
    --------
    >>> found = family_reference([0.03, 0.05, 0.04], ["a", "a", "b"])
    >>> found.status.value, found.n, found.readings
    ('common_practice', 2, 3)
    """
    values = np.asarray(resistance_mbar_per_m3_per_h, dtype=np.float64)
    if not bool((np.isfinite(values) & (values > 0.0)).all()):
        raise ValueError("a resistance is a finite number above 0; leave out readings without one")
    return _own_reference(values, vehicles, limits) or common_practice(
        len(set(vehicles)), int(values.size), limits
    )


def pressure_reference(
    pressure_mbar: Sequence[float] | Floats,
    vehicles: Sequence[str | int],
    common: CommonPressure | None,
    limits: Thresholds = DEFAULTS,
) -> FamilyReference:
    """What pressure does a filter in a known state read in this engine family, whatever the flow?

    As `family_reference`, of pressures in mbar with the zero taken off, at one condition and with
    one sensor layout a call; a sound filter's may lie at zero. `common` stands in where the
    vehicles are too few; None where common practice has no range (``NO_RANGE``).

    Raises
    ------
    ValueError
        For lengths that differ, or a value that is not a finite number.

    Examples
    --------
    >>> found = pressure_reference([9.0], ["a"], COMMON_RAISED)
    >>> found.status.value, found.at(0.95).value
    ('common_practice', 30.0)
    """
    values = np.asarray(pressure_mbar, dtype=np.float64)
    if not bool(np.isfinite(values).all()):
        raise ValueError("a pressure is a finite number; leave out readings without one")
    own = _own_reference(values, vehicles, limits)
    if own is not None:
        return own
    n, readings = len(set(vehicles)), int(values.size)
    few = f"{_vehicles(n)} of the family, fewer than {limits['family_vehicles_fewest']:.0f}"
    if common is None:
        return FamilyReference(
            ReferenceStatus.NO_RANGE,
            f"{few}, and common practice gives no range for one hose",
            Basis.PRACTICE, n, readings, _ends({}),
        )  # fmt: skip
    most = limits.told(common.most_key)
    least = 0.0 if common.least_key is None else limits[common.least_key]
    return FamilyReference(
        ReferenceStatus.COMMON_PRACTICE,
        f"{few}: range of cars and light vans in general ({most.basis.words})",
        most.basis, n, readings, _ends({0.05: least, 0.95: most.value}),
    )  # fmt: skip


def common_practice(
    n: int = 0, readings: int = 0, limits: Thresholds = DEFAULTS
) -> FamilyReference:
    """What does a sound filter with little soot read, where the family does not say?

    8 to 30 mbar at 2500 to 3000 rpm without load, over the reference flow of 256 m³/h; taken as
    5 and 95 %. What lies between is not known.

    Examples
    --------
    >>> round(common_practice().at(0.95).value, 3), common_practice().at(0.5).value
    (0.117, None)
    """
    flow = STANDARD_REFERENCE.flow_m3_per_h
    ends = {
        0.05: limits["raised_sound_least_mbar"] / flow,
        0.95: limits["raised_usual_most_mbar"] / flow,
    }
    told = limits.told("raised_usual_most_mbar")
    return FamilyReference(
        ReferenceStatus.COMMON_PRACTICE,
        f"{_vehicles(n)} of the family, fewer than {limits['family_vehicles_fewest']:.0f}: "
        f"range of cars and light vans in general ({told.basis.words})",
        told.basis,
        n,
        readings,
        _ends(ends),
    )


def _ends(ends: Mapping[float, float]) -> tuple[Quantile, ...]:
    return tuple(
        Quantile(share, ends.get(share), None, None, None, "common practice gives no limits")
        for share in QUANTILE_SHARES
    )


def _vehicles(n: int) -> str:
    return f"{n} vehicle{'' if n == 1 else 's'}"


def _own_reference(
    values: Floats, vehicles: Sequence[str | int], limits: Thresholds
) -> FamilyReference | None:
    """Quantiles over the vehicles; None where these are too few."""
    if values.ndim != 1 or values.size != len(vehicles):
        raise ValueError(
            f"each value has a vehicle; got {values.size} values and {len(vehicles)} vehicles"
        )
    each = _one_per_vehicle(values, vehicles)
    if each.size < int(limits["family_vehicles_fewest"]):
        return None
    return FamilyReference(
        ReferenceStatus.OK,
        f"{each.size} vehicles",
        Basis.CALCULATED,
        int(each.size),
        int(values.size),
        tuple(
            _quantile(each, share, limits["index_confidence_share"]) for share in QUANTILE_SHARES
        ),
    )


def _one_per_vehicle(values: Floats, vehicles: Sequence[str | int]) -> Floats:
    own: dict[str | int, list[float]] = {}
    for vehicle, value in zip(vehicles, values, strict=True):
        own.setdefault(vehicle, []).append(float(value))
    return np.sort(np.array([float(np.median(each)) for each in own.values()], dtype=np.float64))


def _quantile(ordered: Floats, share: float, confidence: float) -> Quantile:
    n = int(ordered.size)
    ranks = quantile_ranks(n, share, confidence)
    # Beyond the extreme values an estimate is the extreme value itself, which says less than it
    # seems to.
    within = 1.0 / (n + 1.0) <= min(share, 1.0 - share)
    value = float(np.quantile(ordered, share, method="median_unbiased")) if within else None
    said = []
    if not within:
        said.append(f"{n} vehicles do not reach so far out")
    if ranks.low is None:
        said.append("lower limit not reached")
    if ranks.high is None:
        said.append("upper limit not reached")
    one_sided = one_sided_high(ordered, share, confidence)
    if one_sided is None:
        said.append(f"one-sided upper limit needs {values_needed(share, confidence)} vehicles")
    return Quantile(
        share,
        value,
        None if ranks.low is None else float(ordered[ranks.low - 1]),
        None if ranks.high is None else float(ordered[ranks.high - 1]),
        one_sided,
        "; ".join(said) or f"{n} vehicles",
    )

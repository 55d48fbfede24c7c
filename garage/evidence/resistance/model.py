"""Resistance index of a filter: pressure over flow at a named flow and temperature."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from scipy.special import chdtrc, ndtri

from garage.evidence.resistance.gas import (
    PA_PER_MBAR,
    SECONDS_PER_HOUR,
    STANDARD_PRESSURE_MBAR,
    air_density_kg_per_m3,
    air_viscosity_pa_s,
    number_checked,
)
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.points import (
    Corrected,
    Floats,
    PressurePoint,
    Zero,
    points_corrected,
)
from garage.evidence.resistance.surface import (
    Bowl,
    bowl_fitted,
    least_fitting,
    shares_fitting,
)
from garage.evidence.thresholds import Thresholds

_COEFFICIENTS = 2
_WORKED_ENGINE_L = 2.0  # the engine whose flow at 2500 rpm without load is the reference's


class IndexStatus(StrEnum):
    """What the index rests on."""

    OK = "ok"
    SCATTERED = "scattered"
    """The points lie off one curve by more than their uncertainties: the interval is widened."""
    ONE_FLOW = "one_flow"
    """One flow only: between a wholly linear and a wholly square filter lies a range."""
    NO_ZERO = "no_zero"
    NO_FLOW = "no_flow"
    NO_PRESSURE = "no_pressure"
    """No point is above zero: the sensor or its hoses come first."""


@dataclass(frozen=True, slots=True)
class Reference:
    """The condition an index is told at."""

    flow_m3_per_h: float = 256.0
    temperature_c: float = 250.0
    pressure_mbar: float = STANDARD_PRESSURE_MBAR


STANDARD_REFERENCE = Reference()


def reference_for_engine(displacement_l: float) -> Reference:
    """At what flow is the index of a vehicle with this engine told?

    256 m³/h belong to an engine of 2 L at 2500 rpm without load; others in proportion.

    Examples
    --------
    >>> reference_for_engine(3.0).flow_m3_per_h
    384.0
    """
    number_checked("displacement_l", displacement_l, above=0.0)
    scaled = STANDARD_REFERENCE.flow_m3_per_h * displacement_l / _WORKED_ENGINE_L
    return replace(STANDARD_REFERENCE, flow_m3_per_h=scaled)


@dataclass(frozen=True, slots=True)
class ResistanceIndex:
    """Pressure over flow at the reference; figures that cannot be had are None.

    Attributes
    ----------
    status, reason
    n : int
        Points used, the zero not among them.
    resistance_mbar_per_m3_per_h, low, high : float or None
        Index and its limits (95 % as shipped), all mbar per m³/h.
    square_share, square_share_low, square_share_high : float or None
        Share of the term in the square of the flow, at the reference.
    linear_per_m3, square_per_m4 : float or None
        `a` and `b` of ``dp = a mu Q + b rho Q²`` in SI units.
    chi_square : float or None
        Misfit, with ``n - 2`` degrees of freedom.
    reference : Reference
    """

    status: IndexStatus
    reason: str
    n: int
    reference: Reference
    resistance_mbar_per_m3_per_h: float | None = None
    low: float | None = None
    high: float | None = None
    square_share: float | None = None
    square_share_low: float | None = None
    square_share_high: float | None = None
    linear_per_m3: float | None = None
    square_per_m4: float | None = None
    chi_square: float | None = None


def resistance_index(
    points: Sequence[PressurePoint],
    zero: Zero | None,
    reference: Reference = STANDARD_REFERENCE,
    limits: Thresholds = DEFAULTS,
) -> ResistanceIndex:
    """How much does this filter resist the flow, whatever the flow was?

    Weighted least squares for ``dp = a mu(T) Q + b rho(T) Q²``, neither coefficient below zero
    (Darcy and Forchheimer). Needs the zero and two flows that differ, idle and raised speed say.

    Parameters
    ----------
    points : sequence of PressurePoint
        Pressures as displayed.
    zero : Zero or None
        Read with key on, engine off; None holds the index back.
    reference : Reference
    limits : Thresholds

    Returns
    -------
    ResistanceIndex
        The interval is the profile of chi-square, held to coefficients not below zero. Where the
        points scatter by more than their uncertainties, chi-square is divided by its mean
        (Birge's ratio) and the status says so. With one flow: limits without a figure.

    Raises
    ------
    ValueError
        For uncertainties that are not above zero, or a reference flow that is not.

    Examples
    --------
    >>> from garage.evidence.resistance.flow import GasAtFilter, flow_from_exhaust_mass
    >>> idle = flow_from_exhaust_mass(10.0, GasAtFilter(150.0, barometric_mbar=1013.25))
    >>> raised = flow_from_exhaust_mass(48.0, GasAtFilter(250.0, barometric_mbar=1013.25))
    >>> points = [PressurePoint(7.3, 0.3, idle), PressurePoint(47.5, 0.3, raised)]
    >>> found = resistance_index(points, Zero(0.5, 0.2))
    >>> found.status.value, round(found.resistance_mbar_per_m3_per_h, 2)
    ('ok', 0.18)
    """
    number_checked("reference.flow_m3_per_h", reference.flow_m3_per_h, above=0.0)
    if zero is None:
        return ResistanceIndex(
            IndexStatus.NO_ZERO,
            "no zero was read with key on, engine off: read it first",
            0,
            reference,
        )
    used = points_corrected(points, zero)
    if used.n == 0:
        return ResistanceIndex(
            IndexStatus.NO_FLOW,
            "no pressure was read together with a flow that is known",
            0,
            reference,
        )
    if float(used.pressure_pa.max()) <= 0.0:
        return ResistanceIndex(
            IndexStatus.NO_PRESSURE,
            "no pressure lies above the zero: inconsistent reading, sensor and hoses first",
            used.n,
            reference,
        )
    spread = float(used.flow_m3_per_s.max() / used.flow_m3_per_s.min())
    if spread < limits["flow_spread_fewest_times"]:
        return _of_one_flow(used, reference, limits)
    return _of_bowl(bowl_fitted(used, limits["flow_error_correlation"]), used.n, reference, limits)


def index_alone(
    points: Sequence[PressurePoint], zero: Zero, limits: Thresholds = DEFAULTS
) -> float | None:
    """What index do these points give at the standard reference, without its interval?

    For many visits at once: the interval of each takes far longer and is not asked for. mbar per
    m³/h; None where `resistance_index` would give no figure, or none above zero. Errors as there.

    Examples
    --------
    >>> index_alone([], Zero(0.0, 0.2)) is None
    True
    """
    used = points_corrected(points, zero)
    if used.n < _COEFFICIENTS or float(used.pressure_pa.max()) <= 0.0:
        return None
    spread = float(used.flow_m3_per_s.max() / used.flow_m3_per_s.min())
    if spread < limits["flow_spread_fewest_times"]:
        return None
    best = bowl_fitted(used, limits["flow_error_correlation"]).best
    index = float(_direction(STANDARD_REFERENCE) @ best)
    return index if index > 0.0 else None


def pressure_of_model_mbar(found: ResistanceIndex, flow_m3_per_h: float) -> float | None:
    """What pressure does the fitted filter show at this flow, at the reference's temperature?

    None where no curve was fitted.

    Examples
    --------
    >>> fitted = ResistanceIndex(
    ...     IndexStatus.OK, "", 2, STANDARD_REFERENCE, linear_per_m3=3.6e7, square_per_m4=0.0)
    >>> round(pressure_of_model_mbar(fitted, 256.0), 3)
    0.705
    """
    if found.linear_per_m3 is None or found.square_per_m4 is None:
        return None
    if flow_m3_per_h == 0.0:
        return 0.0
    at = replace(found.reference, flow_m3_per_h=flow_m3_per_h)
    return index_of_model(found.linear_per_m3, found.square_per_m4, at) * flow_m3_per_h


def _direction(reference: Reference) -> Floats:
    """Index (mbar per m³/h) that a unit of each coefficient gives at the reference."""
    flow = reference.flow_m3_per_h / SECONDS_PER_HOUR
    density = air_density_kg_per_m3(reference.temperature_c, reference.pressure_mbar)
    parts = np.array([air_viscosity_pa_s(reference.temperature_c), density * flow])
    return np.asarray(parts / PA_PER_MBAR / SECONDS_PER_HOUR, dtype=np.float64)


def _deviate(limits: Thresholds) -> float:
    return float(ndtri(0.5 + limits["index_confidence_share"] / 2.0))


def _of_bowl(bowl: Bowl, n: int, reference: Reference, limits: Thresholds) -> ResistanceIndex:
    direction = _direction(reference)
    free = n - _COEFFICIENTS
    widened = max(bowl.lowest / free, 1.0) if free > 0 else 1.0
    scattered = free > 0 and chdtrc(free, bowl.lowest) < limits["scatter_chance_share"]
    reached = bowl.lowest + widened * _deviate(limits) ** 2
    low, high = least_fitting(bowl, direction, reached)
    index = float(direction @ bowl.best)
    shares = shares_fitting(bowl, direction, reached)
    return ResistanceIndex(
        status=IndexStatus.SCATTERED if scattered else IndexStatus.OK,
        reason=(
            "the points do not lie on one curve within their uncertainties; limits widened: "
            "read again with the engine steady"
            if scattered
            else f"zero and {n} points"
        ),
        n=n,
        reference=reference,
        resistance_mbar_per_m3_per_h=index,
        low=low,
        high=high,
        square_share=float(direction[1] * bowl.best[1]) / index if index > 0.0 else None,
        square_share_low=None if shares is None else shares[0],
        square_share_high=None if shares is None else shares[1],
        linear_per_m3=float(bowl.best[0]),
        square_per_m4=float(bowl.best[1]),
        chi_square=bowl.lowest,
    )


def _of_one_flow(used: Corrected, reference: Reference, limits: Thresholds) -> ResistanceIndex:
    """Limits from the two extremes, a wholly linear filter and a wholly square one.

    Weights would part nothing here: the limits are the widest of any point's.
    """
    direction = _direction(reference)
    linear = direction[0] / (used.viscosity_pa_s * used.flow_m3_per_s)
    square = direction[1] / (used.density_kg_per_m3 * used.flow_m3_per_s**2)
    ways = np.concatenate([linear, square])
    pressure = np.tile(used.pressure_pa, 2)
    flow_error = used.flow_uncertainty_m3_per_s / used.flow_m3_per_s
    # Index goes by 1/Q where the filter is linear and by 1/Q² where it is square.
    from_flow = np.concatenate([flow_error, 2.0 * flow_error]) * pressure
    own = np.tile(np.hypot(used.uncertainty_pa, used.zero_uncertainty_pa), 2)
    wide = _deviate(limits) * np.hypot(own, from_flow)
    flow = float(used.flow_m3_per_s.mean()) * SECONDS_PER_HOUR
    return ResistanceIndex(
        IndexStatus.ONE_FLOW,
        f"read at one flow, about {flow:.0f} m³/h: between a filter and an open hole lies a "
        "range; read at another speed as well",
        used.n,
        reference,
        low=max(float((ways * (pressure - wide)).min()), 0.0),
        high=max(float((ways * (pressure + wide)).max()), 0.0),
    )


def index_of_model(linear_per_m3: float, square_per_m4: float, reference: Reference) -> float:
    """What index do these coefficients give at the reference, in mbar per m³/h?

    Examples
    --------
    >>> round(index_of_model(3.6e7, 0.0, STANDARD_REFERENCE), 5)
    0.00275
    """
    if not (math.isfinite(linear_per_m3) and math.isfinite(square_per_m4)):
        raise ValueError("coefficients are finite numbers; got one that is not")
    return float(_direction(reference) @ np.array([linear_per_m3, square_per_m4]))

"""Ratio test: does pressure grow with flow as through a wall, or as through a hole?"""

import math
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import ndtri

from garage.evidence.resistance.gas import PA_PER_MBAR
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.points import Corrected, PressurePoint, Zero, points_corrected
from garage.evidence.thresholds import Thresholds

# Between the two laws, on the scale of the logarithm, the pressure of a hole counts 1 and that of
# a filter 0; the middle parts them, as neither is the costlier mistake before a further check.
_MIDDLE = 0.5
# As far below the filter's law as the hole lies above its middle: nothing that gas flows through.
_BELOW_ANY_FILTER = -0.5


class RatioStatus(StrEnum):
    """What the growth of pressure speaks for."""

    AS_FILTER = "as_filter"
    AS_HOLE = "as_hole"
    FOLLOWS_TOO_LITTLE = "follows_too_little"
    """Grows less than through any filter: sensor and hoses first."""
    CANNOT_BE_TOLD = "cannot_be_told"


@dataclass(frozen=True, slots=True)
class RatioFound:
    """Ratio of raised to idle pressure beside those of both laws, and where it lies between them.

    `place` is 0 at a filter's law and 1 at a hole's; `place_low` and `place_high` are its limits.
    """

    status: RatioStatus
    reason: str
    ratio: float | None = None
    as_filter_ratio: float | None = None
    as_hole_ratio: float | None = None
    place: float | None = None
    place_low: float | None = None
    place_high: float | None = None


def ratio_tested(
    idle: PressurePoint,
    raised: PressurePoint,
    zero: Zero | None,
    limits: Thresholds = DEFAULTS,
) -> RatioFound:
    """Does pressure grow from idle to raised speed as through a filter, or as through a hole?

    From 43 m³/h at 150 °C to 256 m³/h at 250 °C a filter's grows by 7 in any state, a hole's by
    28. A small crack beside sound walls lies near the filter: ``AS_FILTER`` does not prove it
    sound.

    Parameters
    ----------
    idle, raised : PressurePoint
        Pressures as displayed.
    zero : Zero or None
    limits : Thresholds

    Returns
    -------
    RatioFound
        ``CANNOT_BE_TOLD`` without a zero, with an idle pressure of 2 mbar or less once it is taken
        off, with flows too near, or where the limits (95 % as shipped, delta method on the
        logarithm) hold more than one answer.

    Raises
    ------
    ValueError
        As `points_corrected`.

    Examples
    --------
    >>> from garage.evidence.resistance.flow import GasAtFilter, flow_from_exhaust_mass
    >>> slow = flow_from_exhaust_mass(10.0, GasAtFilter(150.0, barometric_mbar=1013.25))
    >>> fast = flow_from_exhaust_mass(48.0, GasAtFilter(250.0, barometric_mbar=1013.25))
    >>> found = ratio_tested(
    ...     PressurePoint(6.8, 0.2, slow), PressurePoint(46.8, 0.3, fast), Zero(0.0, 0.2))
    >>> found.status.value, round(found.as_filter_ratio, 1), round(found.as_hole_ratio, 1)
    ('as_filter', 6.9, 28.5)
    """
    if zero is None:
        return _untold("no zero was read with key on, engine off")
    used = points_corrected([idle, raised], zero)
    if used.n < 2:
        return _untold("the flow is not known at both speeds")
    growth = float(used.flow_m3_per_s[1] / used.flow_m3_per_s[0])
    fewest = limits["flow_spread_fewest_times"]
    if growth < fewest:
        return _untold(f"the flow at raised speed is {growth:.1f} times idle's, not {fewest:g}")
    idle_mbar, raised_mbar = (float(each) / PA_PER_MBAR for each in used.pressure_pa)
    least = limits["slope_idle_least_mbar"]
    if idle_mbar <= least:
        return _untold(f"idle pressure is {idle_mbar:.1f} mbar, not above {least:g} mbar")
    if raised_mbar <= 0.0:
        return RatioFound(
            RatioStatus.FOLLOWS_TOO_LITTLE,
            "pressure falls to zero or below as flow grows: inconsistent reading, "
            "sensor and hoses first",
        )
    return _placed(used, growth, limits)


def _untold(reason: str) -> RatioFound:
    return RatioFound(RatioStatus.CANNOT_BE_TOLD, reason)


def _placed(used: Corrected, growth: float, limits: Thresholds) -> RatioFound:
    as_filter = growth * float(used.viscosity_pa_s[1] / used.viscosity_pa_s[0])
    as_hole = growth**2 * float(used.density_kg_per_m3[1] / used.density_kg_per_m3[0])
    ratio = float(used.pressure_pa[1] / used.pressure_pa[0])
    between = math.log(as_hole / as_filter)
    place = math.log(ratio / as_filter) / between
    wide = float(ndtri(0.5 + limits["index_confidence_share"] / 2.0))
    off = wide * _log_uncertainty(used) / between
    status, reason = _judged(place - off, place + off)
    return RatioFound(
        status,
        f"pressure grew {ratio:.1f} times; {as_filter:.1f} as a filter, {as_hole:.1f} as a hole: "
        + reason,
        ratio, as_filter, as_hole, place, place - off, place + off,
    )  # fmt: skip


def _judged(low: float, high: float) -> tuple[RatioStatus, str]:
    if high < _BELOW_ANY_FILTER:
        return RatioStatus.FOLLOWS_TOO_LITTLE, "too little for either, sensor and hoses first"
    if low > _MIDDLE:
        return RatioStatus.AS_HOLE, "as through an opening; particle count and a look inside next"
    if high < _MIDDLE and low > _BELOW_ANY_FILTER:
        return RatioStatus.AS_FILTER, "as through a filter; a small crack is not excluded"
    return RatioStatus.CANNOT_BE_TOLD, "uncertainties leave more than one answer open"


def _log_uncertainty(used: Corrected) -> float:
    """Standard uncertainty of the ratio's logarithm, less that of the law it is held against."""
    idle_pa, raised_pa = (float(each) for each in used.pressure_pa)
    own = [float(u) / p for u, p in zip(used.uncertainty_pa, (idle_pa, raised_pa), strict=True)]
    shared = used.zero_uncertainty_pa * (1.0 / raised_pa - 1.0 / idle_pa)
    flows = used.flow_uncertainty_m3_per_s / used.flow_m3_per_s
    # Halfway between the laws the expected pressure goes by flow to the power of 1.5.
    from_flow = 1.5 * math.hypot(float(flows[0]), float(flows[1]))
    return math.hypot(own[0], own[1], shared, from_flow)

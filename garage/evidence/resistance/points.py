"""Pressure and flow read together, with the zero taken off."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from garage.evidence.resistance.flow import Flow
from garage.evidence.resistance.gas import (
    PA_PER_MBAR,
    SECONDS_PER_HOUR,
    not_negative,
    number_checked,
)

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Zero:
    """What the display shows with key on, engine off; standard uncertainty, mbar."""

    pressure_mbar: float
    uncertainty_mbar: float


@dataclass(frozen=True, slots=True)
class PressurePoint:
    """A pressure as displayed, zero not taken off, with the flow at that moment.

    Attributes
    ----------
    pressure_mbar : float
    uncertainty_mbar : float
        Standard uncertainty without that of the zero, above 0: at least the display's step
        divided by the root of 12.
    flow : Flow
    """

    pressure_mbar: float
    uncertainty_mbar: float
    flow: Flow


@dataclass(frozen=True, slots=True)
class Corrected:
    """Points in SI units with the zero taken off, those without a flow left out."""

    pressure_pa: Floats
    uncertainty_pa: Floats
    zero_uncertainty_pa: float
    flow_m3_per_s: Floats
    flow_uncertainty_m3_per_s: Floats
    viscosity_pa_s: Floats
    density_kg_per_m3: Floats

    @property
    def n(self) -> int:
        return int(self.pressure_pa.size)


def points_corrected(points: Sequence[PressurePoint], zero: Zero) -> Corrected:
    """What do the points say once the zero is taken off?

    Parameters
    ----------
    points : sequence of PressurePoint
        Those whose flow is not known, or is zero, are left out.
    zero : Zero

    Returns
    -------
    Corrected

    Raises
    ------
    ValueError
        For an uncertainty that is not above zero (points) or negative (zero), or no finite number.

    Examples
    --------
    >>> from garage.evidence.resistance.flow import GasAtFilter, flow_from_exhaust_mass
    >>> flow = flow_from_exhaust_mass(48.0, GasAtFilter(250.0, barometric_mbar=1013.25))
    >>> points_corrected([PressurePoint(31.0, 0.5, flow)], Zero(1.0, 0.3)).pressure_pa.tolist()
    [3000.0]
    """
    number_checked("zero.pressure_mbar", zero.pressure_mbar)
    not_negative("zero.uncertainty_mbar", zero.uncertainty_mbar)
    rows: list[tuple[float, ...]] = []
    for each in points:
        number_checked("pressure_mbar", each.pressure_mbar)
        number_checked("uncertainty_mbar", each.uncertainty_mbar, above=0.0)
        flow = each.flow
        if (
            flow.flow_m3_per_h is None
            or flow.uncertainty_m3_per_h is None
            or flow.viscosity_pa_s is None
            or flow.density_kg_per_m3 is None
            or flow.flow_m3_per_h == 0.0
        ):
            continue
        rows.append(
            (
                (each.pressure_mbar - zero.pressure_mbar) * PA_PER_MBAR,
                each.uncertainty_mbar * PA_PER_MBAR,
                flow.flow_m3_per_h / SECONDS_PER_HOUR,
                flow.uncertainty_m3_per_h / SECONDS_PER_HOUR,
                flow.viscosity_pa_s,
                flow.density_kg_per_m3,
            )
        )
    columns = np.array(rows, dtype=np.float64).reshape(-1, 6).T
    pressure, uncertainty, volume, volume_uncertainty, viscosity, density = columns
    return Corrected(
        pressure, uncertainty, zero.uncertainty_mbar * PA_PER_MBAR, volume, volume_uncertainty,
        viscosity, density,
    )  # fmt: skip

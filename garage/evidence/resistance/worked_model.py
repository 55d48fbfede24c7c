"""The worked model: pressure across a wall-flow filter from its geometry, soot and ash."""

import math
from dataclasses import dataclass

from garage.evidence.resistance.gas import (
    PA_PER_MBAR,
    SECONDS_PER_HOUR,
    air_viscosity_pa_s,
    not_negative,
    number_checked,
)

# Friction of a square channel: f Re = 14.227, so that the pressure falls by 2 * 14.227 * mu * u /
# width² a metre (Shah and London, Laminar Flow Forced Convection in Ducts, from memory). With gas
# leaving or entering evenly along the channel, a third of that over its length counts.
_SQUARE_CHANNEL = 28.454
_EVEN_FLOW_SHARE = 1.0 / 3.0
_LITRES_PER_M3 = 1000.0
_GRAMS_PER_KG = 1000.0


@dataclass(frozen=True, slots=True)
class FilterGeometry:
    """A filter as built, and what its deposits are like.

    Permeabilities and densities are of the order found in papers on wall-flow filters, from
    memory: what is reckoned from them may be off by half, each way.

    Attributes
    ----------
    volume_l : float
    length_m : float
        Chosen so that channel friction and wall share the clean pressure about evenly, as in
        filters of this size (judgement, no source).
    """

    volume_l: float = 3.0
    length_m: float = 0.153
    wall_m: float = 0.3e-3
    cell_m: float = 1.5e-3
    wall_permeability_m2: float = 5e-13
    soot_permeability_m2: float = 1.2e-14
    soot_density_kg_per_m3: float = 100.0
    ash_permeability_m2: float = 5e-14
    ash_density_kg_per_m3: float = 300.0
    ash_on_wall_share: float = 0.5

    @property
    def cells_per_m2(self) -> float:
        """Cells, inlet and outlet together, on a square metre of the face."""
        return 1.0 / (self.cell_m + self.wall_m) ** 2

    @property
    def filtration_area_m2(self) -> float:
        """Wall that the gas goes through: four walls of every inlet channel, over its length."""
        inlet_share = 0.5
        walls = 4.0
        volume_m3 = self.volume_l / _LITRES_PER_M3
        return inlet_share * self.cells_per_m2 * walls * self.cell_m * volume_m3


@dataclass(frozen=True, slots=True)
class Deposits:
    """What is in the filter, grams."""

    soot_g: float = 0.0
    ash_g: float = 0.0


WORKED_FILTER = FilterGeometry()
CLEAN = Deposits()


def worked_pressure_mbar(
    flow_m3_per_h: float,
    temperature_c: float,
    deposits: Deposits = CLEAN,
    filter_built: FilterGeometry = WORKED_FILTER,
) -> float:
    """What pressure would a sound filter with these deposits show at this flow?

    Wall, ash layer and soot cake by Darcy's law, one behind the other; ash at the closed end
    shortens the wall; friction in both channels, the inlet's narrowed by what lies on its walls.
    No term in the square of the flow.

    Parameters
    ----------
    flow_m3_per_h : float
        Volume flow at the filter, m³/h, 0 or more.
    temperature_c : float
    deposits : Deposits
    filter_built : FilterGeometry

    Returns
    -------
    float
        Pressure across the filter, mbar; right to about half, each way.

    Raises
    ------
    ValueError
        For a negative flow or mass, or deposits that fill the inlet channels.

    Examples
    --------
    >>> round(worked_pressure_mbar(256.0, 250.0), 0)
    8.0
    >>> round(worked_pressure_mbar(256.0, 250.0, Deposits(soot_g=18.0)), 0)
    47.0
    """
    not_negative("flow_m3_per_h", flow_m3_per_h)
    not_negative("soot_g", deposits.soot_g)
    not_negative("ash_g", deposits.ash_g)
    built = filter_built
    open_share = _open_share(deposits, built)
    area_m2 = built.filtration_area_m2 * open_share
    ash_m, soot_m = _layers_m(deposits, built, area_m2)
    width_m = built.cell_m - 2.0 * (ash_m + soot_m)
    if width_m <= 0.0:
        raise ValueError(
            "deposits leave the inlet channels open; "
            f"got {deposits.soot_g:g} g soot and {deposits.ash_g:g} g ash. Check mass and unit."
        )
    flow_m3_per_s = flow_m3_per_h / SECONDS_PER_HOUR
    through_wall = (flow_m3_per_s / area_m2) * (
        built.wall_m / built.wall_permeability_m2
        + ash_m / built.ash_permeability_m2
        + soot_m / built.soot_permeability_m2
    )
    along = _friction_per_m2(flow_m3_per_s, built)
    inlet = along * _EVEN_FLOW_SHARE * open_share * (built.cell_m / width_m) ** 4
    # Beside the plug of ash the outlet channel carries the whole flow, with nothing joining it.
    outlet = along * (_EVEN_FLOW_SHARE * open_share + (1.0 - open_share))
    return air_viscosity_pa_s(temperature_c) * (through_wall + inlet + outlet) / PA_PER_MBAR


def worked_resistance_mbar_per_m3_per_h(
    deposits: Deposits = CLEAN,
    filter_built: FilterGeometry = WORKED_FILTER,
    flow_m3_per_h: float = 256.0,
    temperature_c: float = 250.0,
) -> float:
    """What resistance index would a sound filter with these deposits have?

    Pressure over flow at the reference condition, 256 m³/h and 250 °C (48 g/s: an engine of 2 L at
    2500 rpm without load). Arguments and errors as `worked_pressure_mbar`.

    Examples
    --------
    >>> round(worked_resistance_mbar_per_m3_per_h(Deposits(soot_g=30.0)), 2)
    0.29
    """
    number_checked("flow_m3_per_h", flow_m3_per_h, above=0.0)
    pressure = worked_pressure_mbar(flow_m3_per_h, temperature_c, deposits, filter_built)
    return pressure / flow_m3_per_h


def _open_share(deposits: Deposits, built: FilterGeometry) -> float:
    """Share of the inlet channels' length that no plug of ash fills."""
    plug_kg = deposits.ash_g / _GRAMS_PER_KG * (1.0 - built.ash_on_wall_share)
    channels_m3 = built.filtration_area_m2 * built.cell_m / 4.0
    share = 1.0 - plug_kg / built.ash_density_kg_per_m3 / channels_m3
    if share <= 0.0:
        raise ValueError(
            f"ash leaves the inlet channels open; got {deposits.ash_g:g} g. Check mass and unit."
        )
    return share


def _layers_m(deposits: Deposits, built: FilterGeometry, area_m2: float) -> tuple[float, float]:
    """Thickness of the ash layer and of the soot cake upon it, spread evenly."""
    ash_kg = deposits.ash_g / _GRAMS_PER_KG * built.ash_on_wall_share
    soot_kg = deposits.soot_g / _GRAMS_PER_KG
    return (
        ash_kg / built.ash_density_kg_per_m3 / area_m2,
        soot_kg / built.soot_density_kg_per_m3 / area_m2,
    )


def _friction_per_m2(flow_m3_per_s: float, built: FilterGeometry) -> float:
    """Friction of the whole flow along a clean channel's whole length, over viscosity."""
    face_m2 = built.volume_l / _LITRES_PER_M3 / built.length_m
    channels = 0.5 * built.cells_per_m2 * face_m2
    speed_m_per_s = flow_m3_per_s / channels / built.cell_m**2
    return _SQUARE_CHANNEL * speed_m_per_s * built.length_m / math.pow(built.cell_m, 2)

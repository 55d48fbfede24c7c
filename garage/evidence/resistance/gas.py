"""Exhaust as a gas: its viscosity and density, taken as those of dry air."""

import math

ZERO_CELSIUS_K = 273.15
STANDARD_PRESSURE_MBAR = 1013.25
PA_PER_MBAR = 100.0
SECONDS_PER_HOUR = 3600.0

# Gas constant of dry air, 287.05 J/(kg K), rounded as in engineering tables. Lean exhaust of a
# diesel engine differs from it by less than 1 %.
GAS_CONSTANT_J_PER_KG_K = 287.0

# Sutherland's law for air, from memory of White, Viscous Fluid Flow: reference viscosity at
# 0 °C and the constant 110.4 K. Holds within 2 % from -100 to 1600 °C.
_REFERENCE_VISCOSITY_PA_S = 1.716e-5
_SUTHERLAND_K = 110.4


def number_checked(name: str, value: float, *, above: float | None = None) -> float:
    """Give `value` back; refuse one that is not a finite number, or not above `above`.

    Examples
    --------
    >>> number_checked("flow_m3_per_h", 43.0, above=0.0)
    43.0
    """
    if not math.isfinite(value):
        raise ValueError(f"`{name}` is a finite number; got {value}. Leave it out if not known.")
    if above is not None and value <= above:
        raise ValueError(f"`{name}` lies above {above:g}; got {value:g}. Check value and unit.")
    return value


def not_negative(name: str, value: float) -> float:
    """Give `value` back; refuse one that is negative or not a finite number.

    Examples
    --------
    >>> not_negative("uncertainty_mbar", 0.0)
    0.0
    """
    if not math.isfinite(value) or value < 0.0:
        raise ValueError(f"`{name}` is a finite number, 0 or more; got {value:g}. Check the value.")
    return value


def air_viscosity_pa_s(temperature_c: float) -> float:
    """How viscous is the gas at this temperature?

    Parameters
    ----------
    temperature_c : float
        Gas temperature, °C, above absolute zero.

    Returns
    -------
    float
        Dynamic viscosity, Pa s.

    Raises
    ------
    ValueError
        For a temperature at or below absolute zero.

    Notes
    -----
    Sutherland's law for air, from memory of a textbook on viscous flow.

    Examples
    --------
    >>> round(air_viscosity_pa_s(250.0) * 1e5, 3)
    2.754
    """
    kelvin = ZERO_CELSIUS_K + number_checked("temperature_c", temperature_c, above=-ZERO_CELSIUS_K)
    return float(
        _REFERENCE_VISCOSITY_PA_S
        * (kelvin / ZERO_CELSIUS_K) ** 1.5
        * (ZERO_CELSIUS_K + _SUTHERLAND_K)
        / (kelvin + _SUTHERLAND_K)
    )


def air_density_kg_per_m3(temperature_c: float, pressure_mbar: float) -> float:
    """How dense is the gas at this temperature and absolute pressure?

    Parameters
    ----------
    temperature_c : float
        Gas temperature, °C, above absolute zero.
    pressure_mbar : float
        Absolute pressure, mbar: air pressure and gauge pressure together.

    Returns
    -------
    float
        Density, kg/m³.

    Raises
    ------
    ValueError
        For a temperature or pressure at or below absolute zero.

    Notes
    -----
    Ideal gas law with the gas constant of dry air, 287 J/(kg K).

    Examples
    --------
    >>> round(air_density_kg_per_m3(0.0, 1013.25), 3)
    1.293
    """
    kelvin = ZERO_CELSIUS_K + number_checked("temperature_c", temperature_c, above=-ZERO_CELSIUS_K)
    number_checked("pressure_mbar", pressure_mbar, above=0.0)
    return pressure_mbar * PA_PER_MBAR / (GAS_CONSTANT_J_PER_KG_K * kelvin)

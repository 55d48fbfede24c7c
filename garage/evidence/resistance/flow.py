"""Volume flow at the filter, with its uncertainty, from whatever the vehicle gives."""

import math
from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.gas import (
    SECONDS_PER_HOUR,
    ZERO_CELSIUS_K,
    air_density_kg_per_m3,
    air_viscosity_pa_s,
    not_negative,
    number_checked,
)
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.thresholds import Thresholds

# Standard deviation of a value that lies anywhere between two limits, as a share of their
# distance (rectangular distribution, JCGM 100:2008, 4.3.7, from memory).
_RECTANGULAR = 1.0 / math.sqrt(12.0)
_STROKES_PER_CHARGE = 2.0  # a four-stroke engine draws its displacement every second turn
_SECONDS_PER_MINUTE = 60.0
_LITRES_PER_M3 = 1000.0
_GRAMS_PER_KG = 1000.0


class FlowStatus(StrEnum):
    """Whether there is a flow to reckon with."""

    OK = "ok"
    ASSUMED = "assumed"
    """There is a flow, and a part of it was taken and not read."""
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class GasAtFilter:
    """The gas where it enters the filter.

    Attributes
    ----------
    temperature_c : float or None
        Before the filter, °C.
    gauge_mbar : float
        Above the air pressure, mbar.
    barometric_mbar : float or None
        Air pressure, absolute; None where it was not read.
    temperature_uncertainty_c, pressure_uncertainty_mbar : float
        Standard uncertainties. 10 °C is the order of exhaust thermocouples and of their place in
        the pipe; 5 mbar that of the barometer and gauge together (judgement, no source).
    """

    temperature_c: float | None
    gauge_mbar: float = 0.0
    barometric_mbar: float | None = None
    temperature_uncertainty_c: float = 10.0
    pressure_uncertainty_mbar: float = 5.0


@dataclass(frozen=True, slots=True)
class Intake:
    """What the engine draws in where no air flow is read: four strokes, filled at light load.

    Attributes
    ----------
    displacement_l : float
    speed_rpm : float
    charge_temperature_c : float
        In the intake manifold.
    charge_mbar : float or None
        Absolute, in the intake manifold; None where not read: the air pressure is taken.
    recirculation_share : float or None
        Share of the filling that is recirculated gas; None where not known.
    """

    displacement_l: float
    speed_rpm: float
    charge_temperature_c: float = 30.0
    charge_mbar: float | None = None
    recirculation_share: float | None = None


@dataclass(frozen=True, slots=True)
class Flow:
    """Volume flow at the filter; every figure is None where the flow is not known."""

    status: FlowStatus
    reason: str
    flow_m3_per_h: float | None
    uncertainty_m3_per_h: float | None
    mass_g_per_s: float | None
    viscosity_pa_s: float | None
    density_kg_per_m3: float | None


@dataclass(frozen=True, slots=True)
class _Mass:
    g_per_s: float
    uncertainty_g_per_s: float
    taken: tuple[str, ...] = ()


def flow_from_exhaust_mass(
    mass_g_per_s: float,
    gas: GasAtFilter,
    uncertainty_g_per_s: float = 0.0,
    limits: Thresholds = DEFAULTS,
) -> Flow:
    """How much gas goes through the filter, from the exhaust mass flow that the vehicle gives?

    Parameters
    ----------
    mass_g_per_s : float
        Exhaust mass flow, g/s, 0 or more.
    gas : GasAtFilter
    uncertainty_g_per_s : float
        Standard uncertainty of the mass flow, g/s.
    limits : Thresholds

    Returns
    -------
    Flow
        m³/h at filter temperature and pressure. Without a temperature: not known.

    Raises
    ------
    ValueError
        For a negative or infinite flow, or pressure that is not above zero absolute.

    Examples
    --------
    >>> warm = GasAtFilter(temperature_c=150.0, barometric_mbar=1013.25)
    >>> round(flow_from_exhaust_mass(10.0, warm).flow_m3_per_h, 1)
    43.1
    """
    not_negative("mass_g_per_s", mass_g_per_s)
    not_negative("uncertainty_g_per_s", uncertainty_g_per_s)
    return _at_filter(_Mass(mass_g_per_s, uncertainty_g_per_s), gas, limits)


def flow_from_air_mass(
    air_g_per_s: float,
    gas: GasAtFilter,
    uncertainty_g_per_s: float = 0.0,
    limits: Thresholds = DEFAULTS,
) -> Flow:
    """How much gas goes through the filter, from the air mass flow that the vehicle gives?

    The fuel adds 2 to 5 % to the air; the whole of that width is carried as uncertainty.

    Parameters, return and errors as `flow_from_exhaust_mass`, with the air's mass flow in g/s.

    Examples
    --------
    >>> hot = GasAtFilter(temperature_c=250.0, barometric_mbar=1013.25)
    >>> round(flow_from_air_mass(46.4, hot, 1.0).flow_m3_per_h)
    256
    """
    not_negative("air_g_per_s", air_g_per_s)
    not_negative("uncertainty_g_per_s", uncertainty_g_per_s)
    least, most = limits["exhaust_per_air_least"], limits["exhaust_per_air_most"]
    factor = (least + most) / 2.0
    uncertainty = math.hypot(
        factor * uncertainty_g_per_s, air_g_per_s * (most - least) * _RECTANGULAR
    )
    return _at_filter(_Mass(air_g_per_s * factor, uncertainty), gas, limits)


def flow_from_engine(intake: Intake, gas: GasAtFilter, limits: Thresholds = DEFAULTS) -> Flow:
    """How much gas goes through the filter, from displacement and speed alone?

    Parameters
    ----------
    intake : Intake
        A four-stroke engine without load.
    gas : GasAtFilter
    limits : Thresholds

    Returns
    -------
    Flow
        With the status ``ASSUMED``: the cylinder filling was taken, with its uncertainty, and so
        was recirculation where it is not known (anything from none to the threshold's share).

    Raises
    ------
    ValueError
        For a displacement that is not above zero, a negative speed, a share outside 0 to 1.

    Examples
    --------
    >>> hot = GasAtFilter(temperature_c=250.0, barometric_mbar=1013.25)
    >>> found = flow_from_engine(Intake(2.0, 2500.0, recirculation_share=0.0), hot)
    >>> round(found.flow_m3_per_h), round(found.uncertainty_m3_per_h)
    (228, 22)
    """
    number_checked("displacement_l", intake.displacement_l, above=0.0)
    not_negative("speed_rpm", intake.speed_rpm)
    taken = ["cylinder filling"]
    if intake.charge_mbar is None:
        charge_mbar, charge_uncertainty_mbar = _air_pressure(gas, limits)
        taken.append("intake pressure")
    else:
        charge_mbar = number_checked("charge_mbar", intake.charge_mbar, above=0.0)
        charge_uncertainty_mbar = gas.pressure_uncertainty_mbar
    fresh, fresh_uncertainty = _fresh_share(intake.recirculation_share, limits)
    if intake.recirculation_share is None:
        taken.append("recirculation")
    filling = limits["filling_share"]
    drawn_m3_per_s = (
        intake.displacement_l
        / _LITRES_PER_M3
        * intake.speed_rpm
        / (_STROKES_PER_CHARGE * _SECONDS_PER_MINUTE)
    )
    density = air_density_kg_per_m3(intake.charge_temperature_c, charge_mbar)
    least, most = limits["exhaust_per_air_least"], limits["exhaust_per_air_most"]
    factor = (least + most) / 2.0
    mass = drawn_m3_per_s * density * filling * fresh * factor * _GRAMS_PER_KG
    share = math.hypot(
        limits["filling_uncertainty_share"] / filling,
        fresh_uncertainty / fresh if fresh > 0.0 else 0.0,
        (most - least) * _RECTANGULAR / factor,
        charge_uncertainty_mbar / charge_mbar,
    )
    return _at_filter(_Mass(mass, mass * share, tuple(taken)), gas, limits)


def _fresh_share(recirculation_share: float | None, limits: Thresholds) -> tuple[float, float]:
    """Share of the filling that is fresh air, and its standard uncertainty."""
    if recirculation_share is None:
        most = limits["recirculation_most_share"]
        return 1.0 - most / 2.0, most * _RECTANGULAR
    if not 0.0 <= recirculation_share < 1.0:
        raise ValueError(
            "`recirculation_share` lies from 0 to below 1; "
            f"got {recirculation_share:g}. Divide a percentage by 100."
        )
    return 1.0 - recirculation_share, 0.0


def _air_pressure(gas: GasAtFilter, limits: Thresholds) -> tuple[float, float]:
    """Air pressure and its standard uncertainty, mbar; the one usually met where none was read."""
    if gas.barometric_mbar is None:
        return (
            limits["unmeasured_barometer_mbar"],
            limits["unmeasured_barometer_uncertainty_mbar"],
        )
    number_checked("barometric_mbar", gas.barometric_mbar, above=0.0)
    return gas.barometric_mbar, gas.pressure_uncertainty_mbar


def _at_filter(mass: _Mass, gas: GasAtFilter, limits: Thresholds) -> Flow:
    if gas.temperature_c is None:
        return Flow(
            FlowStatus.NOT_KNOWN,
            "no gas temperature at the filter was read, and volume flow rests on it",
            None, None, mass.g_per_s, None, None,
        )  # fmt: skip
    number_checked("gauge_mbar", gas.gauge_mbar)
    not_negative("temperature_uncertainty_c", gas.temperature_uncertainty_c)
    not_negative("pressure_uncertainty_mbar", gas.pressure_uncertainty_mbar)
    barometric_mbar, barometric_uncertainty_mbar = _air_pressure(gas, limits)
    pressure_mbar = barometric_mbar + gas.gauge_mbar
    density = air_density_kg_per_m3(gas.temperature_c, pressure_mbar)
    per_gram = SECONDS_PER_HOUR / (_GRAMS_PER_KG * density)
    flow = mass.g_per_s * per_gram
    uncertainty = math.hypot(
        mass.uncertainty_g_per_s * per_gram,
        flow * gas.temperature_uncertainty_c / (gas.temperature_c + ZERO_CELSIUS_K),
        flow * barometric_uncertainty_mbar / pressure_mbar,
    )
    taken = mass.taken + (("air pressure",) if gas.barometric_mbar is None else ())
    return Flow(
        FlowStatus.ASSUMED if taken else FlowStatus.OK,
        f"taken and not read: {', '.join(taken)}" if taken else "all that counts was read",
        flow,
        uncertainty,
        mass.g_per_s,
        air_viscosity_pa_s(gas.temperature_c),
        density,
    )

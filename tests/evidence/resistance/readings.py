"""Readings that a known filter would show, for the tests of index and ratio."""

from garage.evidence.resistance.flow import Flow, GasAtFilter, flow_from_exhaust_mass
from garage.evidence.resistance.points import PressurePoint
from garage.evidence.resistance.worked_model import Deposits, worked_pressure_mbar


def flow_of(mass_g_per_s: float, temperature_c: float, share: float = 0.02) -> Flow:
    """Flow at one standard atmosphere with a relative uncertainty of mass."""
    gas = GasAtFilter(
        temperature_c,
        barometric_mbar=1013.25,
        temperature_uncertainty_c=0.0,
        pressure_uncertainty_mbar=0.0,
    )
    return flow_from_exhaust_mass(mass_g_per_s, gas, mass_g_per_s * share)


IDLE = flow_of(10.0, 150.0)
RAISED = flow_of(48.0, 250.0)
FAST = flow_of(70.0, 290.0)


def shown(pressure_mbar: float, flow: Flow, uncertainty_mbar: float = 0.3) -> PressurePoint:
    return PressurePoint(pressure_mbar, uncertainty_mbar, flow)


def shown_by(held: Deposits, *, zero_mbar: float = 0.0) -> list[PressurePoint]:
    """Idle and raised speed of the worked filter, displayed with an offset."""
    return [
        shown(zero_mbar + worked_pressure_mbar(43.15, 150.0, held), IDLE),
        shown(zero_mbar + worked_pressure_mbar(256.06, 250.0, held), RAISED),
    ]

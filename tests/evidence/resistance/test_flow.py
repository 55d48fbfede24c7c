"""Volume flow at the filter."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.resistance.flow import (
    FlowStatus,
    GasAtFilter,
    Intake,
    flow_from_air_mass,
    flow_from_engine,
    flow_from_exhaust_mass,
)

IDLE = GasAtFilter(temperature_c=150.0, barometric_mbar=1013.25)
RAISED = GasAtFilter(temperature_c=250.0, barometric_mbar=1013.25)


@pytest.mark.parametrize(
    ("mass_g_per_s", "gas", "flow_m3_per_h"), [(10.0, IDLE, 43.0), (48.0, RAISED, 256.0)]
)
def test_flow_of_exhaust_mass_as_reckoned_by_hand(
    mass_g_per_s: float, gas: GasAtFilter, flow_m3_per_h: float
) -> None:
    """By hand, m R T / p: 10 g/s at 150 °C and 48 g/s at 250 °C. Fails on a wrong unit."""
    found = flow_from_exhaust_mass(mass_g_per_s, gas)
    assert found.status is FlowStatus.OK
    assert found.flow_m3_per_h == pytest.approx(flow_m3_per_h, rel=0.005)


def test_flow_of_air_mass_lies_between_the_fuel_factors() -> None:
    """Fails where the fuel is left out, or its width is not carried."""
    air = flow_from_air_mass(40.0, RAISED)
    bare = flow_from_exhaust_mass(40.0, RAISED)
    assert air.flow_m3_per_h is not None
    assert bare.flow_m3_per_h is not None
    assert 1.02 < air.flow_m3_per_h / bare.flow_m3_per_h < 1.05
    assert air.uncertainty_m3_per_h is not None
    assert bare.uncertainty_m3_per_h is not None
    assert air.uncertainty_m3_per_h > bare.uncertainty_m3_per_h


def test_flow_falls_as_gauge_pressure_rises() -> None:
    """Fails where gauge pressure is taken for absolute: 100 mbar more is about 9 % less flow."""
    pressed = flow_from_exhaust_mass(48.0, replace(RAISED, gauge_mbar=100.0))
    free = flow_from_exhaust_mass(48.0, RAISED)
    assert pressed.flow_m3_per_h is not None
    assert free.flow_m3_per_h is not None
    assert pressed.flow_m3_per_h / free.flow_m3_per_h == pytest.approx(1013.25 / 1113.25)


def test_flow_uncertainty_as_a_simulation_has_it() -> None:
    """Fails where a part is left out: 2 % mass, 15 K, 20 mbar drawn at random, the slow way."""
    random = np.random.default_rng(20261126)
    mass = random.normal(48.0, 0.96, 200_000)
    kelvin = random.normal(523.15, 15.0, 200_000)
    pascal = random.normal(101325.0, 2000.0, 200_000)
    drawn = mass / 1000.0 * 287.0 * kelvin / pascal * 3600.0
    gas = replace(RAISED, temperature_uncertainty_c=15.0, pressure_uncertainty_mbar=20.0)
    found = flow_from_exhaust_mass(48.0, gas, uncertainty_g_per_s=0.96)
    assert found.uncertainty_m3_per_h == pytest.approx(float(np.std(drawn)), rel=0.02)


def test_flow_without_temperature_is_not_known() -> None:
    """Fails where a temperature is made up: only the mass flow stands."""
    found = flow_from_exhaust_mass(10.0, replace(IDLE, temperature_c=None))
    assert found.status is FlowStatus.NOT_KNOWN
    assert found.flow_m3_per_h is None
    assert found.uncertainty_m3_per_h is None
    assert "temperature" in found.reason


def test_flow_without_barometer_says_what_was_taken() -> None:
    """Fails where a standard atmosphere stands in without a word or without its width."""
    read = flow_from_exhaust_mass(48.0, RAISED)
    taken = flow_from_exhaust_mass(48.0, replace(RAISED, barometric_mbar=None))
    assert taken.status is FlowStatus.ASSUMED
    assert "air pressure" in taken.reason
    assert taken.uncertainty_m3_per_h is not None
    assert read.uncertainty_m3_per_h is not None
    assert taken.uncertainty_m3_per_h > read.uncertainty_m3_per_h


def test_engine_flow_is_of_the_measured_order() -> None:
    """A 2 L engine at 2500 rpm: 48 g/s within two standard uncertainties. Fails on two strokes."""
    found = flow_from_engine(Intake(2.0, 2500.0, recirculation_share=0.0), RAISED)
    assert found.flow_m3_per_h is not None
    assert found.uncertainty_m3_per_h is not None
    assert abs(found.flow_m3_per_h - 256.0) < 2.0 * found.uncertainty_m3_per_h


def test_engine_flow_is_wider_where_recirculation_is_not_known() -> None:
    """Fails where unknown recirculation counts as none."""
    known = flow_from_engine(Intake(2.0, 800.0, recirculation_share=0.0), IDLE)
    unknown = flow_from_engine(Intake(2.0, 800.0), IDLE)
    assert known.uncertainty_m3_per_h is not None
    assert known.flow_m3_per_h is not None
    assert unknown.uncertainty_m3_per_h is not None
    assert unknown.flow_m3_per_h is not None
    assert unknown.flow_m3_per_h < known.flow_m3_per_h
    assert (
        unknown.uncertainty_m3_per_h / unknown.flow_m3_per_h
        > known.uncertainty_m3_per_h / known.flow_m3_per_h
    )


@pytest.mark.parametrize("mass_g_per_s", [-1.0, float("nan"), float("inf")])
def test_flow_refuses_impossible_mass(mass_g_per_s: float) -> None:
    """Fails where a negative or endless flow gets through."""
    with pytest.raises(ValueError, match="mass_g_per_s"):
        flow_from_exhaust_mass(mass_g_per_s, IDLE)


@pytest.mark.parametrize("share", [-0.1, 1.0, 30.0])
def test_engine_flow_refuses_a_share_in_percent(share: float) -> None:
    """Fails where 30 % written as 30 turns the flow negative."""
    with pytest.raises(ValueError, match="recirculation_share"):
        flow_from_engine(Intake(2.0, 800.0, recirculation_share=share), IDLE)


@given(st.floats(0.0, 500.0), st.floats(-40.0, 900.0), st.floats(600.0, 1100.0))
def test_flow_times_density_is_the_mass(
    mass_g_per_s: float, temperature_c: float, barometric_mbar: float
) -> None:
    """Mass is kept. Fails where density and flow rest on two temperatures or pressures."""
    gas = GasAtFilter(temperature_c=temperature_c, barometric_mbar=barometric_mbar)
    found = flow_from_exhaust_mass(mass_g_per_s, gas)
    assert found.flow_m3_per_h is not None
    assert found.density_kg_per_m3 is not None
    kept = found.flow_m3_per_h * found.density_kg_per_m3 / 3.6
    assert math.isclose(kept, mass_g_per_s, rel_tol=1e-9, abs_tol=1e-12)

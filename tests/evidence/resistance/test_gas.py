"""Viscosity and density of the gas against printed tables."""

import pytest

from garage.evidence.resistance.gas import air_density_kg_per_m3, air_viscosity_pa_s

# Dry air at 1 atm, from memory of the property tables of common heat-transfer textbooks
# (Incropera and DeWitt; White): °C, Pa s, kg/m³.
PRINTED = [
    (0.0, 1.716e-5, 1.293),
    (100.0, 2.181e-5, 0.946),
    (200.0, 2.577e-5, 0.746),
    (300.0, 2.934e-5, 0.616),
]


@pytest.mark.parametrize(("temperature_c", "viscosity_pa_s", "density_kg_per_m3"), PRINTED)
def test_gas_as_printed(
    temperature_c: float, viscosity_pa_s: float, density_kg_per_m3: float
) -> None:
    """Fails on a wrong constant, or where Celsius goes into a law of absolute temperature."""
    assert air_viscosity_pa_s(temperature_c) == pytest.approx(viscosity_pa_s, rel=0.02)
    assert air_density_kg_per_m3(temperature_c, 1013.25) == pytest.approx(
        density_kg_per_m3, rel=0.02
    )


@pytest.mark.parametrize("temperature_c", [-273.15, -300.0, float("nan"), float("inf")])
def test_viscosity_refuses_impossible_temperature(temperature_c: float) -> None:
    """Fails where a complex or empty number would come back."""
    with pytest.raises(ValueError, match="temperature_c"):
        air_viscosity_pa_s(temperature_c)


@pytest.mark.parametrize("pressure_mbar", [0.0, -1.0, float("nan")])
def test_density_refuses_impossible_pressure(pressure_mbar: float) -> None:
    """Fails where a vacuum would be reckoned with."""
    with pytest.raises(ValueError, match="pressure_mbar"):
        air_density_kg_per_m3(20.0, pressure_mbar)

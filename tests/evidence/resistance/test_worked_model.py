"""The worked model against its printed table."""

import pytest

from garage.evidence.resistance.worked_model import (
    WORKED_FILTER,
    Deposits,
    FilterGeometry,
    worked_pressure_mbar,
    worked_resistance_mbar_per_m3_per_h,
)

# Soot g, ash g, pressure at 43 m³/h and 150 °C, at 256 m³/h and 250 °C, index; with the half of
# the last printed place of each pressure. Printed beside the model's inputs by another reckoner.
PRINTED = [
    (0.0, 0.0, 1.2, 0.05, 8.0, 0.03),
    (18.0, 0.0, 7.0, 0.5, 47.0, 0.18),
    (30.0, 0.0, 11.0, 0.5, 73.0, 0.29),
    (0.0, 60.0, 2.2, 0.05, 15.0, 0.06),
    (12.0, 60.0, 7.0, 0.5, 47.0, 0.18),
    (0.0, 120.0, 3.7, 0.05, 26.0, 0.10),
    (12.0, 120.0, 9.5, 0.05, 66.0, 0.26),
]


@pytest.mark.parametrize(
    ("soot_g", "ash_g", "idle_mbar", "idle_half_place", "raised_mbar", "resistance"), PRINTED
)
def test_worked_model_gives_the_printed_table(
    soot_g: float,
    ash_g: float,
    idle_mbar: float,
    idle_half_place: float,
    raised_mbar: float,
    resistance: float,
) -> None:
    """Fails on any wrong geometry, permeability or split of ash."""
    held = Deposits(soot_g, ash_g)
    assert worked_pressure_mbar(43.0, 150.0, held) == pytest.approx(idle_mbar, abs=idle_half_place)
    assert worked_pressure_mbar(256.0, 250.0, held) == pytest.approx(raised_mbar, abs=0.5)
    assert worked_resistance_mbar_per_m3_per_h(held) == pytest.approx(resistance, abs=0.005)


def test_worked_filter_has_the_printed_area() -> None:
    """2.8 m² for 3.0 L. Fails where outlet channels count as inlets."""
    assert WORKED_FILTER.filtration_area_m2 == pytest.approx(2.8, abs=0.05)


def test_pressure_grows_sevenfold_from_idle_to_raised_in_any_state() -> None:
    """Flow ×5.9, viscosity ×1.16. Fails where a square term has crept in."""
    for held in (Deposits(), Deposits(18.0), Deposits(0.0, 60.0), Deposits(12.0, 120.0)):
        ratio = worked_pressure_mbar(256.0, 250.0, held) / worked_pressure_mbar(43.0, 150.0, held)
        assert ratio == pytest.approx(7.0, abs=0.2)


def test_same_soot_gives_more_pressure_over_ash() -> None:
    """Fails where the plug of ash does not shorten the filter."""
    clean_rise = worked_pressure_mbar(256.0, 250.0, Deposits(12.0)) - worked_pressure_mbar(
        256.0, 250.0
    )
    ashed_rise = worked_pressure_mbar(256.0, 250.0, Deposits(12.0, 120.0)) - worked_pressure_mbar(
        256.0, 250.0, Deposits(0.0, 120.0)
    )
    assert ashed_rise > 1.2 * clean_rise


@pytest.mark.parametrize("held", [Deposits(-1.0), Deposits(0.0, -1.0), Deposits(float("nan"))])
def test_worked_model_refuses_impossible_masses(held: Deposits) -> None:
    """Fails where less than nothing lies in the filter."""
    with pytest.raises(ValueError, match="_g"):
        worked_pressure_mbar(256.0, 250.0, held)


@pytest.mark.parametrize("held", [Deposits(2000.0), Deposits(0.0, 900.0)])
def test_worked_model_refuses_more_than_the_channels_hold(held: Deposits) -> None:
    """Fails where a channel of negative width gives a pressure."""
    with pytest.raises(ValueError, match="channels open"):
        worked_pressure_mbar(256.0, 250.0, held)


def test_larger_filter_gives_less_pressure() -> None:
    """Fails where the volume is not carried into area and face."""
    assert worked_pressure_mbar(
        256.0, 250.0, filter_built=FilterGeometry(volume_l=4.5)
    ) == pytest.approx(worked_pressure_mbar(256.0, 250.0) / 1.5)


def test_clean_filter_as_the_published_formula_has_it() -> None:
    """A second way, from memory of papers on wall-flow filters (Konstandopoulos and Johnson).

    ``dp = mu Q / (2 V) (a + w)² (w / (k a) + 8 F L² / (3 a⁴))`` with F = 28.454. Fails on a factor
    of two in the friction or the number of channels.
    """
    built = WORKED_FILTER
    viscosity = 2.7536e-5  # 250 °C by Sutherland's law, worked by hand
    flow = 256.0 / 3600.0
    wall = built.wall_m / (built.wall_permeability_m2 * built.cell_m)
    friction = 8.0 * 28.454 * built.length_m**2 / (3.0 * built.cell_m**4)
    pitch = built.cell_m + built.wall_m
    pascal = viscosity * flow / (2.0 * 0.003) * pitch**2 * (wall + friction)
    assert worked_pressure_mbar(256.0, 250.0) == pytest.approx(pascal / 100.0, rel=1e-3)

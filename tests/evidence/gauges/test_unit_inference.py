"""The unit of a display that shows bare numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.gauges.unit_inference import Pair, unit_inferred
from garage.evidence.gauges.units import PA_PER_UNIT


@pytest.mark.parametrize("unit", PA_PER_UNIT)
def test_unit_is_found_with_gain_and_offset(unit: str) -> None:
    """Fails where two units are confused, or an offset of 300 Pa sways the slope."""
    pa = float(PA_PER_UNIT[unit])
    pairs = [Pair(x, (1.01 * x + 300) / pa, 20 / pa, 30) for x in (0, 10_000, 20_000)]
    assert unit_inferred(pairs).unit == unit


@given(st.floats(-500, 500))
def test_unit_one_pair_at_zero_decides_nothing(shown: float) -> None:
    """Fails if an offset alone moves the probabilities."""
    told = unit_inferred([Pair(0, shown, 1)])
    assert told.unit is None
    assert told.fit is None
    assert len({round(c.probability, 12) for c in told.candidates}) == 1


def test_unit_foreign_slope_is_none_of_these() -> None:
    """Fails if the nearest unit is taken at any distance."""
    pairs = [Pair(x, x / 500, 0.1, 20) for x in (0, 10_000, 20_000)]
    told = unit_inferred(pairs)
    assert told.unit is None
    assert told.candidates[0].unit == "none of these"


@pytest.mark.parametrize("unit", PA_PER_UNIT)
def test_unit_of_a_display_that_falls_is_not_told(unit: str) -> None:
    """Fails if a unit is found for swapped hoses; the rising display of it is found above."""
    pa = float(PA_PER_UNIT[unit])
    pairs = [Pair(x, -(1.01 * x + 300) / pa, 20 / pa, 30) for x in (0, 10_000, 20_000)]
    told = unit_inferred(pairs)
    assert (told.status, told.unit, told.next_applied_pa) == ("cannot be told", None, None)
    assert told.candidates[0].unit == "none of these"
    assert told.candidates[0].probability > 0.99
    assert "falls while the pressure rises" in told.reason


def test_unit_next_pair_stays_in_sensor_range() -> None:
    """Fails if the range of the sensor is not heeded."""
    assert unit_inferred([Pair(0, 0, 1)], 8_000).next_applied_pa == 8_000


def test_unit_zero_resolution_is_refused() -> None:
    """Fails if a display without a step is let in."""
    with pytest.raises(ValueError, match="shown_resolution"):
        unit_inferred([Pair(0, 0, 0)])


def test_unit_two_pairs_at_one_pressure_decide_nothing() -> None:
    """Fails if the scatter of repeats passes for a slope."""
    told = unit_inferred([Pair(5_000, 50, 1, 20), Pair(5_000, 53, 1, 20)])
    assert len({each.probability for each in told.candidates}) == 1

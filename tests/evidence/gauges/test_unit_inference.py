"""The unit of a display that shows bare numbers."""

from fractions import Fraction
from math import isfinite, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.gauges import unit_inference
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


def _exactly(pairs: list[Pair], slope: float) -> float:
    """Log density of the two differences to the first of three pairs, in fractions: its own way."""
    x, y = [Fraction(p.applied_pa) for p in pairs], [Fraction(p.shown) for p in pairs]
    own = [
        Fraction(slope) ** 2 * Fraction(p.applied_uncertainty_pa) ** 2
        + Fraction(p.shown_resolution) ** 2 / 12
        for p in pairs
    ]
    gain = (Fraction(0.02) * Fraction(slope)) ** 2
    far, near = x[1] - x[0], x[2] - x[0]
    a, c = own[0] + own[1] + gain * far**2, own[0] + own[2] + gain * near**2
    b = own[0] + gain * far * near
    p, q = y[1] - y[0] - Fraction(slope) * far, y[2] - y[0] - Fraction(slope) * near
    det = a * c - b * b
    return -0.5 * (float((c * p * p - 2 * b * p * q + a * q * q) / det) + log(det))


@pytest.mark.parametrize("step", [1.0, 0.01, 1e-6])
def test_unit_densities_are_those_of_the_differences(step: float) -> None:
    """Fails if digits are lost where the gain error is far above the display's step."""
    pairs = [Pair(0, 0.25, step), Pair(10_000, 101, step), Pair(30_000, 302.5, step)]
    slopes = [1.0, 0.01, 0.001]
    found = unit_inference._log_densities(pairs, np.array(slopes), 0.02)
    expected = [_exactly(pairs, slope) for slope in slopes]
    assert found[1:] - found[0] == pytest.approx(
        [each - expected[0] for each in expected[1:]], rel=1e-9
    )


@pytest.mark.parametrize(
    "pairs",
    [
        [Pair(-3, 0, 1), Pair(0, -5, 1, 4e12)],
        [Pair(0, 0, 1e-18), Pair(5_000, 5, 1e-18), Pair(10_000, 10, 1e-18)],
        [Pair(1e25, 1e20, 1), Pair(0, 0, 1), Pair(5, 5, 1)],
        [Pair(1e-17, 1, 1), Pair(2e-17, 5, 1)],
    ],
)
def test_unit_of_any_digits_has_figures(pairs: list[Pair]) -> None:
    """Fails if a matrix that is singular in floating point stops the answer."""
    told = unit_inferred(pairs)
    assert sum(each.probability for each in told.candidates) == pytest.approx(1)
    assert told.fit is not None
    assert all(isfinite(each) for each in (told.fit.slope_per_pa, *told.fit.offset_limits_shown))


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

"""What a gauge's error and steps leave unsure."""

from math import inf, nan, sqrt

import numpy as np
import pytest

from garage.evidence.gauges.gauge_error import gauge_uncertainty_pa


def test_largest_error_as_the_variance_of_even_chances() -> None:
    """The variance of a uniform law of half-width a is a squared / 3: JCGM 100:2008, 4.3.7."""
    assert gauge_uncertainty_pa(150, 0) == pytest.approx(150 / sqrt(3))


def test_step_as_numbers_rounded_to_it_scatter() -> None:
    """Second way: round evenly spread pressures to steps of 100 Pa and take the spread."""
    spread = np.random.default_rng(3).uniform(0, 10_000, 200_000)
    rounded = np.round(spread / 100) * 100
    assert gauge_uncertainty_pa(0, 100) == pytest.approx(float(np.std(spread - rounded)), rel=0.01)


@pytest.mark.parametrize("wrong", [-1.0, nan, inf])
@pytest.mark.parametrize("place", [0, 1])
def test_error_that_cannot_be_is_refused(wrong: float, place: int) -> None:
    said = [10.0, 10.0]
    said[place] = wrong
    with pytest.raises(ValueError, match="0 or more"):
        gauge_uncertainty_pa(*said)

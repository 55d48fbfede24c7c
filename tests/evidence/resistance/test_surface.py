"""The profile of chi-square against a search over a grid."""

import numpy as np
import pytest

from garage.evidence.resistance.points import Corrected
from garage.evidence.resistance.surface import Bowl, bowl_fitted, least_fitting, shares_fitting

CENTRES = [(3.0, 1.0), (3.0, -0.4), (-0.2, 2.0), (-1.0, -1.0)]


def bowl_about(centre: tuple[float, float]) -> Bowl:
    """A skew bowl; its best place by a search, not by the code under test."""
    curvature = np.array([[2.0, 1.2], [1.2, 1.5]])
    middle = np.array(centre)
    free = Bowl(middle, curvature, 0.0, middle, 0.0)
    best = min(_grid(), key=free.depth)
    return Bowl(middle, curvature, 0.0, best, free.depth(best))


def _grid() -> list[np.ndarray]:
    steps = np.linspace(0.0, 8.0, 321)
    return [np.array([first, second]) for first in steps for second in steps]


@pytest.mark.parametrize("centre", CENTRES)
def test_profile_as_a_search_over_a_grid(centre: tuple[float, float]) -> None:
    """Fails where an edge is passed over, or the other coefficient is not let free."""
    bowl = bowl_about(centre)
    reached = bowl.lowest + 3.84
    direction = np.array([1.0, 2.0])
    inside = [direction @ each for each in _grid() if bowl.depth(each) <= reached]
    low, high = least_fitting(bowl, direction, reached)
    assert low == pytest.approx(min(inside), abs=0.08)
    assert high == pytest.approx(max(inside), abs=0.08)


@pytest.mark.parametrize("centre", CENTRES[:3])
def test_share_as_a_search_over_a_grid(centre: tuple[float, float]) -> None:
    """Fails where the share's ends are cut off."""
    bowl = bowl_about(centre)
    reached = bowl.lowest + 1.0
    direction = np.array([1.0, 2.0])
    inside = [
        direction[1] * each[1] / (direction @ each)
        for each in _grid()
        if bowl.depth(each) <= reached and direction @ each > 0.0
    ]
    found = shares_fitting(bowl, direction, reached)
    assert found is not None
    assert found[0] == pytest.approx(min(inside), abs=0.05)
    assert found[1] == pytest.approx(max(inside), abs=0.05)


@pytest.mark.parametrize("pressure_pa", [(100.0, 3000.0, 5000.0), (2000.0, 2500.0, 2600.0)])
def test_best_fit_as_a_search_over_a_grid(pressure_pa: tuple[float, float, float]) -> None:
    """A hole's pressures and ones that flatten out. Fails where the wrong edge is taken."""
    flow = np.array([0.012, 0.05, 0.071])
    viscosity, density = np.full(3, 2.5e-5), np.full(3, 0.7)
    points = Corrected(
        np.array(pressure_pa), np.full(3, 50.0), 0.0, flow, np.zeros(3), viscosity, density
    )
    bowl = bowl_fitted(points, 0.5)
    linear, square = np.meshgrid(np.linspace(0.0, 4e9, 401), np.linspace(0.0, 2e6, 401))
    reckoned = linear[..., None] * viscosity * flow + square[..., None] * density * flow**2
    depth = (((reckoned - np.array(pressure_pa)) / 50.0) ** 2).sum(axis=-1)
    assert bool((bowl.best >= 0.0).all())
    assert bowl.lowest <= float(depth.min()) + 1e-6
    assert bowl.lowest == pytest.approx(float(depth.min()), rel=0.02)

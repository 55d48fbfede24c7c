"""The profile of the shape, on which the search for one law climbs, against finite differences."""

import numpy as np
import pytest

from garage.lifetimes.verdict.laws import LawBelief, LawLives, WeightedLives, _Exposure


def exposure_of(rng: np.random.Generator) -> _Exposure:
    exit_ = rng.weibull(2.5, 40) * 2 + 0.01
    entry = np.where(rng.random(40) < 0.5, exit_ * rng.random(40), 0.0)
    lives = LawLives(
        log_exit=np.log(exit_),
        log_entry=np.log(np.where(entry > 0, entry, 1.0)),
        delayed=(entry > 0) * 1.0,
        failed=(rng.random(40) < 0.7) * 1.0,
    )
    weighted = WeightedLives(lives, rng.random(40), rng.uniform(0.5, 2.0, 40))
    return _Exposure(weighted, LawBelief(2.0, 0.4, rng.normal(size=4), 0.5))


@pytest.mark.parametrize("largest", [None, -0.5], ids=["free", "bounded"])
@pytest.mark.parametrize("shape", [0.7, 1.3, 3.0])
def test_slope_and_curve_equal_finite_differences(shape: float, largest: float | None) -> None:
    exposure = exposure_of(np.random.default_rng(3))
    at, step = float(np.log(shape)), 1e-4
    assert (largest is None) == (exposure.log_scale(shape, largest) != largest)
    below, here, above = (exposure.profile(at + d, largest) for d in (-step, 0.0, step))
    assert here[1] == pytest.approx((above[0] - below[0]) / (2 * step), rel=1e-6, abs=1e-6)
    assert here[2] == pytest.approx((above[1] - below[1]) / (2 * step), rel=1e-6, abs=1e-6)

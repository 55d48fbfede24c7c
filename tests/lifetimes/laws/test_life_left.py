"""Life left under a known law: no memory, closed forms, heavy tails."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import gamma, gammaincc

from garage.lifetimes.laws.life_left import LifeLeft
from garage.lifetimes.laws.loglogistic import LogLogisticLaw
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status


@pytest.mark.parametrize("now", [0.0, 3.0, 5_000.0])
def test_pure_chance_has_no_memory(now: float) -> None:
    left = LifeLeft(WeibullLaw(1.0, 2.0), now)
    further = np.array([0.0, 0.1, 6.0])
    np.testing.assert_allclose(left.lasting(further), np.exp(-further / 2), rtol=1e-9)
    assert left.median == pytest.approx(2 * np.log(2), rel=1e-9)
    assert left.mean.value == pytest.approx(2.0, rel=1e-9)
    assert left.mean_within(1.0) == pytest.approx(2 * (1 - np.exp(-0.5)), rel=1e-9)


@pytest.mark.parametrize("shape", [0.5, 0.7, 1.5, 3.0, 5.0])
@pytest.mark.parametrize("now", [0.0, 0.01, 1.0, 1.8])
def test_weibull_figures_equal_closed_forms(shape: float, now: float) -> None:
    left = LifeLeft(WeibullLaw(shape, 1.0), now)
    for share in (1e-6, 0.1, 0.5, 0.99):
        wanted = (now**shape - np.log1p(-share)) ** (1 / shape) - now
        assert left.quantile(share) == pytest.approx(wanted, rel=1e-8, abs=1e-14)
    # Mean beyond now: exp(now^k) Gamma(1 / k, now^k) / k.
    mean = np.exp(now**shape) * gammaincc(1 / shape, now**shape) * gamma(1 / shape) / shape
    assert left.mean.value == pytest.approx(mean, rel=1e-8)
    end = (now + 0.8) ** shape
    tail = np.exp(now**shape) * gammaincc(1 / shape, end) * gamma(1 / shape) / shape
    assert left.mean_within(0.8) == pytest.approx(mean - tail, rel=1e-8)


@settings(max_examples=40)
@given(st.floats(0.5, 5.0), st.floats(0.0, 3.0), st.floats(0.01, 0.99), st.floats(0.01, 1e5))
def test_laws_of_conditioning(shape: float, now: float, share: float, unit: float) -> None:
    left = LifeLeft(WeibullLaw(shape, 1.0), now)
    reached = left.quantile(share)
    assert float(left.lasting(reached)) == pytest.approx(1 - share, abs=1e-8)
    scaled = LifeLeft(WeibullLaw(shape, unit), now * unit)
    assert scaled.quantile(share) == pytest.approx(reached * unit, rel=1e-7)
    assert scaled.mean_within(unit) == pytest.approx(left.mean_within(1.0) * unit, rel=1e-8)
    assert 0 < left.mean_within(1.0) <= 1.0 + 1e-12
    # Having gone further means less left with wear, more with early failures.
    on = LifeLeft(WeibullLaw(shape, 1.0), now + 0.5).median
    assert (on - left.median) * (1 - shape) >= -1e-9


def test_a_unit_far_beyond_its_law_still_has_figures() -> None:
    # Survival to now is exp(-40 ** 3), below any float.
    left = LifeLeft(WeibullLaw(3.0, 1.0), 40.0)
    assert left.median == pytest.approx((40.0**3 + np.log(2)) ** (1 / 3) - 40.0, rel=1e-6)


@pytest.mark.parametrize("shape", [0.8, 1.0])
def test_a_heavy_tail_has_a_median_and_a_horizon_but_no_mean(shape: float) -> None:
    left = LifeLeft(LogLogisticLaw(1.0, shape), 2.0)
    # (1 + (2 + d)^k) = 2 (1 + 2^k)
    assert left.median == pytest.approx((1 + 2 * 2.0**shape) ** (1 / shape) - 2, rel=1e-9)
    mean = left.mean
    assert (mean.value, mean.status) == (None, Status.NOT_REACHED)
    assert "mean within a horizon" in mean.reason
    assert 0 < left.mean_within(1_000.0) < 1_000.0
    # A tail light enough: mean of the law pi / 5 / sin(pi / 5).
    light = LifeLeft(LogLogisticLaw(1.0, 5.0), 0.0).mean
    assert light.value == pytest.approx(np.pi / 5 / np.sin(np.pi / 5), rel=1e-7)


def test_mean_within_a_horizon_of_a_heavy_tail_equals_the_closed_form() -> None:
    # At shape 1: S = 1 / (1 + t), so the mean from 2 within h is 3 log((3 + h) / 3).
    left = LifeLeft(LogLogisticLaw(1.0, 1.0), 2.0)
    for horizon in (1e-6, 1.0, 50.0, 1e9):
        assert left.mean_within(horizon) == pytest.approx(3 * np.log1p(horizon / 3), rel=1e-8)


@pytest.mark.parametrize("now", [-1.0, float("inf"), float("nan")])
def test_refuses_a_part_that_has_run_no_distance(now: float) -> None:
    LifeLeft(WeibullLaw(2.0, 1.0), 0.0)
    with pytest.raises(ValueError, match="now must be a finite distance"):
        LifeLeft(WeibullLaw(2.0, 1.0), now)


def test_refuses_questions_without_an_answer() -> None:
    left = LifeLeft(WeibullLaw(2.0, 1.0), 1.0)
    for share in (0.0, 1.0):
        with pytest.raises(ValueError, match="between 0 and 1"):
            left.quantile(share)
    for further in (-1.0, float("nan")):
        with pytest.raises(ValueError, match="further distance is finite and at least 0"):
            left.lasting([1.0, further])
    for horizon in (0.0, float("inf")):
        with pytest.raises(ValueError, match="horizon"):
            left.mean_within(horizon)

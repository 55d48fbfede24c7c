"""Sums of powers: bins agree with the rows added up one by one, and are used where they hold."""

import math

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws import power_sums
from garage.lifetimes.laws.power_sums import LARGEST_SHAPE, MANY_ROWS, LogBins, PowerSums
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.lifetimes.risk_table import LivesArrays, RiskTable

ROUNDING = 1e-14
"""Of a sum, against the sum of its rows without their signs: what adding up some thousand
float64 leaves, and no more."""


def rows_of(count: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Ascending logs from that of a half to that of the largest, weights of both signs."""
    rng = np.random.default_rng(seed)
    clock = np.sort(np.concatenate([[0.5], rng.integers(1, 450_000, count - 1)]))
    weights = rng.integers(-3, 8, count).astype(np.float64)
    return np.log(clock) - np.log(clock[-1]), weights


@pytest.mark.parametrize("shape", [0.02, 0.5, 1.0, 2.5, 12.0, LARGEST_SHAPE])
def test_bins_equal_rows_added_up_exactly(shape: float) -> None:
    logs, weights = rows_of(3_000, seed=4)
    bins = LogBins.of(logs, weights)
    found = (bins.total(shape), *bins.with_slopes(shape))
    # Second way: every row by itself, added without rounding.
    for value, power in zip(found, (0, 0, 1, 2), strict=True):
        each = [
            w * math.exp(shape * log) * log**power for w, log in zip(weights, logs, strict=True)
        ]
        assert abs(value - math.fsum(each)) <= ROUNDING * math.fsum(map(abs, each))


@pytest.mark.parametrize("shape", [0.3, LARGEST_SHAPE, 1.01 * LARGEST_SHAPE, 200.0])
def test_sums_of_many_rows_equal_those_of_the_rows(shape: float) -> None:
    logs, weights = rows_of(MANY_ROWS, seed=5)
    sums = PowerSums.of(logs, weights, ascending=True)
    plain = PowerSums(logs, weights, None)
    assert sums.bins is not None
    assert sums.total(shape) == pytest.approx(plain.total(shape), rel=1e-12)
    assert sums.with_slopes(shape) == pytest.approx(plain.with_slopes(shape), rel=1e-12)


def test_a_shape_too_large_for_the_series_adds_up_the_rows() -> None:
    logs, weights = rows_of(MANY_ROWS, seed=6)
    sums = PowerSums.of(logs, weights, ascending=True)
    assert sums.bins is not None
    spoiled = PowerSums(logs, weights, LogBins(sums.bins.middles, 0 * sums.bins.terms))
    assert spoiled.total(LARGEST_SHAPE) == 0
    assert spoiled.with_slopes(LARGEST_SHAPE) == (0, 0, 0)
    assert spoiled.total(LARGEST_SHAPE + 1e-9) > 0
    assert spoiled.with_slopes(LARGEST_SHAPE + 1e-9)[0] > 0


def test_few_rows_and_rows_in_any_order_are_not_put_in_bins() -> None:
    logs, weights = rows_of(MANY_ROWS, seed=7)
    assert PowerSums.of(logs, weights, ascending=True).bins is not None
    assert PowerSums.of(logs, weights, ascending=False).bins is None
    assert PowerSums.of(logs[1:], weights[1:], ascending=True).bins is None


def test_bins_keep_rows_on_one_clock_value_together() -> None:
    bins = LogBins.of(np.zeros(5), np.array([1.0, 2, 3, 4, 5]))
    assert len(bins.middles) == 1
    assert bins.total(2.0) == pytest.approx(15, rel=1e-15)


@pytest.mark.parametrize("late", [False, True])
def test_fit_of_many_rows_is_that_of_the_rows(late: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(8)
    n = 60_000
    entry = np.where(rng.random(n) < 1 / 3, rng.uniform(0, 150_000, n), 0.0) if late else 0.0
    life = 300_000 * ((entry / 300_000) ** 2.5 + rng.exponential(size=n)) ** 0.4
    left = entry + rng.uniform(1_000, 300_000, n)
    begin = np.floor(entry) * np.ones(n)
    end = np.maximum(np.ceil(np.minimum(life, left)), begin + 1)
    table = RiskTable.from_lives(LivesArrays(begin, end, life < left), unit="km")
    assert len(table.clock) > MANY_ROWS
    binned = weibull_fit(table)
    monkeypatch.setattr(power_sums, "MANY_ROWS", n * 2)
    plain = weibull_fit(table)
    assert binned.log_likelihood == pytest.approx(plain.log_likelihood, rel=1e-13)
    for ours, theirs in ((binned.shape, plain.shape), (binned.scale, plain.scale)):
        assert ours is not None
        assert theirs is not None
        for name in ("value", "standard_error", "lower", "upper", "wald_lower", "wald_upper"):
            assert getattr(ours, name) == pytest.approx(getattr(theirs, name), rel=1e-10), name
    assert binned.median.lower == pytest.approx(plain.median.lower, rel=1e-10)

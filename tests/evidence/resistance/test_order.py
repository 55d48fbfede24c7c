"""Limits of quantiles from order alone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from garage.evidence.resistance.order import (
    one_sided_high,
    quantile_ranks,
    values_needed,
)

# Two-sided 95 % limits of the median: n, ranks, coverage. From memory of the tables of the sign
# test's intervals in textbooks on nonparametric statistics (Conover; Hollander and Wolfe).
MEDIAN = [
    (6, 1, 6, 0.969),
    (8, 1, 8, 0.992),
    (9, 2, 8, 0.961),
    (10, 2, 9, 0.979),
    (15, 4, 12, 0.965),
    (20, 6, 15, 0.959),
]


@pytest.mark.parametrize(("n", "low", "high", "coverage"), MEDIAN)
def test_ranks_of_the_median_as_printed(n: int, low: int, high: int, coverage: float) -> None:
    """Fails on a rank off by one."""
    found = quantile_ranks(n, 0.5)
    assert (found.low, found.high) == (low, high)
    assert found.coverage == pytest.approx(coverage, abs=0.0006)


def test_ranks_of_five_values_are_not_reached() -> None:
    """2 × 0.5⁵ is 6 %. Fails where the extremes pass for limits at 95 %."""
    found = quantile_ranks(5, 0.5)
    assert found.low is None
    assert found.high is None
    assert found.coverage is None


def test_values_needed_as_wilks_has_them() -> None:
    """59 for 95/95, 29 for 90/95, 299 for 99/95 (Wilks, from memory). Fails on rounding down."""
    assert values_needed(0.95) == 59
    assert values_needed(0.90) == 29
    assert values_needed(0.99) == 299
    assert values_needed(0.5, 0.875) == 3  # 0.5³ exactly


def test_one_sided_limit_is_reached_from_59_values() -> None:
    """Fails where 58 do."""
    assert one_sided_high(np.arange(59.0), 0.95) == 58.0
    assert one_sided_high(np.arange(58.0), 0.95) is None


def test_two_sided_upper_limit_is_reached_from_72_values() -> None:
    """0.95⁷² is 2.5 %. Fails where one-sided figures pass for two-sided."""
    assert quantile_ranks(71, 0.95).high is None
    assert quantile_ranks(72, 0.95).high == 72


@given(st.integers(1, 300), st.sampled_from([0.05, 0.1, 0.5, 0.9, 0.95]))
def test_ranks_keep_the_confidence_and_are_the_nearest(n: int, share: float) -> None:
    """SciPy's binomial as the second way. Fails where a nearer rank would do, or one too near."""
    found = quantile_ranks(n, share)
    if found.low is not None:
        assert binom.cdf(found.low - 1, n, share) <= 0.025 + 1e-12
        assert binom.cdf(found.low, n, share) > 0.025 - 1e-12
    if found.high is not None:
        assert binom.cdf(found.high - 1, n, share) >= 0.975 - 1e-12
        assert found.high == 1 or binom.cdf(found.high - 2, n, share) < 0.975 + 1e-12
    if found.coverage is not None:
        assert found.coverage >= 0.95 - 1e-12


@pytest.mark.parametrize(("share", "confidence"), [(0.0, 0.95), (1.0, 0.95), (0.5, 95.0)])
def test_ranks_refuse_what_is_no_share(share: float, confidence: float) -> None:
    """One fault at a time. Fails where a percentage is taken for a share."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        quantile_ranks(10, share, confidence)

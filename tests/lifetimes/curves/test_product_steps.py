"""A product-limit curve carried over many parts is the curve carried in one."""

import numpy as np
import pytest

from garage.lifetimes.curves import product_steps
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.curves.product_steps import variance_steps
from garage.lifetimes.risk_table import LivesArrays, RiskTable

FIGURES = ("clock", "at_risk", "survival", "standard_error", "lower", "upper")


def lives_table(*, seed: int, all_fail: bool) -> RiskTable:
    rng = np.random.default_rng(seed)
    entry = rng.integers(0, 40, 300)
    exit_ = entry + rng.integers(1, 60, 300)
    cause = rng.integers(1 if all_fail else 0, 3, 300)
    capture = None if all_fail else rng.uniform(0.6, 1.0, 300)
    if not all_fail:
        # Watched from the start and never failed, so that the curve stays above 0.
        entry[:30], exit_[:30], cause[:30] = 0, 120, 0
    return RiskTable.from_lives(
        LivesArrays(entry, exit_, cause, capture=capture), unit="km", causes=("a", "b")
    )


@pytest.mark.parametrize("start", [None, 30])
@pytest.mark.parametrize("all_fail", [False, True])
@pytest.mark.parametrize("most", [1, 7])
def test_curve_in_many_parts_is_to_the_bit_the_curve_in_one(
    monkeypatch: pytest.MonkeyPatch, most: int, all_fail: bool, start: int | None
) -> None:
    table = lives_table(seed=4, all_fail=all_fail)
    whole = product_limit(table, given_survival_to=start)
    assert (whole.survival[-1] == 0) == all_fail
    monkeypatch.setattr(product_steps, "STEPS_AT_A_TIME", most)
    parts = product_limit(table, given_survival_to=start)
    for name in FIGURES:
        np.testing.assert_array_equal(getattr(parts, name), getattr(whole, name), name)
    assert (parts.n, parts.failed) == (whole.n, whole.failed)


def test_standard_error_is_survival_times_the_root_of_the_summed_steps() -> None:
    # Greenwood by the formula d / (n (n - d)), one step after the other.
    table = RiskTable.from_lives(LivesArrays([0] * 5, [1, 2, 3, 4, 5], [1, 0, 1, 1, 0]), unit="km")
    by_hand = [1 / (5 * 4), 1 / (3 * 2), 1 / (2 * 1)]
    np.testing.assert_allclose(variance_steps(table, None), by_hand, rtol=1e-14)
    curve = product_limit(table)
    expected = curve.survival * np.sqrt(np.cumsum(by_hand))
    np.testing.assert_allclose(curve.standard_error, expected, rtol=1e-14)

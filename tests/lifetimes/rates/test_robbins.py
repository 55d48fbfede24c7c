"""Rates without a law: a published table, a known truth, and counts that say nothing."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from garage.lifetimes.rates.robbins import robbins_rates
from garage.lifetimes.status import Status

# Efron and Hastie, Computer Age Statistical Inference, 2016, table 6.1: policies by claims a year.
POLICIES = (7840, 1317, 239, 42, 14, 4, 4, 1)
CLAIMS = np.repeat(np.arange(8), POLICIES)


def test_claims_equal_the_published_table(check_case: Callable[[str], Any]) -> None:
    case = check_case("GP-01")
    found = robbins_rates(CLAIMS)
    case.holds("Robbins (x+1) y[x+1]/y[x], x=0..5", [each.mean for each in found[:6]])
    case.holds("Robbins at x=6", found[6].mean)


def test_claims_as_printed() -> None:
    # The entry printed for six claims, 1.25, is 7 * 1 / 4 misprinted.
    printed = [0.168, 0.363, 0.527, 1.33, 1.43, 6.00]
    found = robbins_rates(CLAIMS)
    assert [each.mean for each in found[:6]] == pytest.approx(printed, abs=6e-3)
    assert [each.n for each in found] == list(POLICIES)


def test_last_count_and_a_count_that_no_group_had_have_no_rate() -> None:
    found = robbins_rates([0, 0, 0, 2, 2, 3])
    assert [each.mean for each in found] == [None, None, 1.5, None]
    assert [each.status for each in found] == [
        Status.FEW_CLUSTERS,
        Status.NO_LIVES,
        Status.OK,
        Status.FEW_CLUSTERS,
    ]
    assert found[0].reason == "no group had a count of 1, of which the rate is told"
    assert found[1].reason == "no group had a count of 1"


def test_rates_of_many_groups_equal_the_true_means() -> None:
    rng = np.random.default_rng(5)
    truth = rng.gamma(2.0, 0.6, 400_000)
    failed = rng.poisson(truth)
    for each in robbins_rates(failed)[:4]:
        assert each.mean == pytest.approx(float(truth[failed == each.failed].mean()), rel=0.03)


def test_no_group_at_all_has_no_rates() -> None:
    (found,) = robbins_rates([])
    assert (found.n, found.mean, found.status) == (0, None, Status.NO_LIVES)


@pytest.mark.parametrize("failed", [[1, -1], [1, 0.5], [1, float("nan")]])
def test_refuses_counts_that_are_none(failed: list[float]) -> None:
    with pytest.raises(ValueError, match="index 1"):
        robbins_rates(failed)

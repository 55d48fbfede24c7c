"""Limits of a share: printed values, a second program's, and what they must meet."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import bdtr, bdtrc

from garage.lifetimes.rates.binomial import BinomialShare, exact_share, wilson_share
from garage.lifetimes.status import Status

# Newcombe, Statistics in Medicine 17, 1998, table I: 81 of 263, 15 of 148, 0 of 20, 1 of 29.
CASES = ((81, 263), (15, 148), (0, 20), (1, 29))


@pytest.mark.parametrize("number", ["PR-01", "PR-03"])
def test_wilson_limits_equal_the_printed_ones(
    check_case: Callable[[str], Any], number: str
) -> None:
    case = check_case(number)
    found = [
        wilson_share(failed, n) for failed, n in zip(case.data["k"], case.data["n"], strict=True)
    ]
    case.holds("lower", [each.lower for each in found])
    case.holds("upper", [each.upper for each in found])


def test_wilson_limits_of_four_printed_cases() -> None:
    printed = [(0.2553, 0.3662), (0.0624, 0.1605), (0.0, 0.1611), (0.0061, 0.1718)]
    for (failed, n), limits in zip(CASES, printed, strict=True):
        found = wilson_share(failed, n)
        assert (found.lower, found.upper) == pytest.approx(limits, abs=6e-5)


def test_exact_limits_equal_the_reference_program() -> None:
    # R 4.2.2, binom.test.
    computed = [
        (0.252736745585, 0.367621922601),
        (0.0578440100834, 0.1616504903495),
        (0.0, 0.168433470983),
        (0.00087264688358, 0.17764429548872),
    ]
    for (failed, n), limits in zip(CASES, computed, strict=True):
        found = exact_share(failed, n)
        assert (found.lower, found.upper) == pytest.approx(limits, abs=1e-11)


shares = st.integers(2, 400).flatmap(
    lambda n: st.tuples(st.integers(1, n - 1), st.just(n), st.floats(0.5, 0.999))
)


@given(shares)
def test_exact_limits_leave_half_the_rest_on_either_side(case: tuple[int, int, float]) -> None:
    failed, n, level = case
    found = exact_share(failed, n, level=level)
    assert found.lower is not None
    assert found.upper is not None
    tail = (1 - level) / 2
    assert bdtrc(failed - 1, n, found.lower) == pytest.approx(tail, rel=1e-6)
    assert bdtr(failed, n, found.upper) == pytest.approx(tail, rel=1e-6)


@given(shares)
def test_wilson_limits_lie_a_deviate_away_and_mirror_each_other(
    case: tuple[int, int, float],
) -> None:
    failed, n, level = case
    found, mirrored = wilson_share(failed, n, level=level), wilson_share(n - failed, n, level=level)
    assert found.lower is not None
    assert found.upper is not None
    assert mirrored.upper == pytest.approx(1 - found.lower)
    assert mirrored.lower == pytest.approx(1 - found.upper)
    ends = np.array([found.lower, found.upper])
    away = (failed / n - ends) / np.sqrt(ends * (1 - ends) / n)
    assert np.ptp(np.abs(away)) < 1e-6
    assert away[0] > 0 > away[1]


@pytest.mark.parametrize("limits", [exact_share, wilson_share])
def test_none_all_and_nothing_watched_say_so(limits: Callable[..., BinomialShare]) -> None:
    none, every, nothing = limits(0, 5), limits(5, 5), limits(0, 0)
    assert (none.value, none.lower, none.status) == (0.0, 0.0, Status.NO_FAILURES)
    assert (every.value, every.upper, every.status) == (1.0, 1.0, Status.ALL_FAILED)
    assert none.upper is not None
    assert every.lower == pytest.approx(1 - none.upper)
    assert (nothing.value, nothing.lower, nothing.upper) == (None, None, None)
    assert (nothing.status, nothing.reason) == (Status.NO_LIVES, "nothing was watched")
    assert limits(1, 5).status is Status.OK


def test_coverage_of_exact_limits_never_falls_below_the_level() -> None:
    """Summed over all counts of 20, no simulation: exact at least 0.95, Wilson at least 0.83.

    The mean over all shares is 0.955 for Wilson, 0.978 for the exact ones.
    """
    n, truths = 20, np.linspace(0.001, 0.999, 999)
    chance = np.array(
        [bdtr(k, n, truths) - (bdtr(k - 1, n, truths) if k else 0) for k in range(21)]
    )
    covered = {}
    for limits in (exact_share, wilson_share):
        found = [limits(k, n) for k in range(n + 1)]
        inside = np.array([(each.lower <= truths) & (truths <= each.upper) for each in found])
        covered[limits.__name__] = (chance * inside).sum(axis=0)
    assert covered["exact_share"].min() >= 0.95
    assert covered["wilson_share"].min() > 0.83
    assert covered["wilson_share"].mean() == pytest.approx(0.955, abs=0.005)
    assert covered["exact_share"].mean() == pytest.approx(0.978, abs=0.005)


@pytest.mark.parametrize("limits", [exact_share, wilson_share])
@pytest.mark.parametrize(("failed", "n"), [(-1, 3), (4, 3), (1.5, 3), (1, 2.5), (0, -1)])
def test_counts_that_cannot_be_are_refused(
    limits: Callable[..., BinomialShare], failed: float, n: float
) -> None:
    with pytest.raises(ValueError, match="in whole numbers"):
        limits(failed, n)


@pytest.mark.parametrize("limits", [exact_share, wilson_share])
def test_level_that_is_none_is_refused(limits: Callable[..., BinomialShare]) -> None:
    with pytest.raises(ValueError, match="level"):
        limits(1, 3, level=1.0)

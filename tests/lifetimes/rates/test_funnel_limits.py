"""Funnel limits: check values of the interpolated ones, exact counts, mixed laws."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom, binom, nbinom, poisson

from garage.lifetimes.confidence import normal_deviate
from garage.lifetimes.rates.funnel_limits import FunnelKind, FunnelLaw, funnel_limits
from garage.lifetimes.rates.poisson import poisson_rate

LEVELS = (0.95, 0.998)


def drawn(size: float, law: FunnelLaw) -> list[float]:
    """The four limits as the check values order them: 0.001, 0.025, 0.975, 0.999."""
    two, three = (funnel_limits([size], law, level=each) for each in LEVELS)
    return [three.lower[0], two.lower[0], two.upper[0], three.upper[0]]


def test_interpolated_limits_equal_the_check_values(check_case: Callable[[str], Any]) -> None:
    case = check_case("EX-03")
    share = FunnelLaw(FunnelKind.SHARE, case.data["target_proportion"])
    for n in case.data["n"]:
        # The formula gives limits below 0 in small units; they are drawn at 0.
        expected = np.maximum(case.expected(f"proportion, n={n}"), 0)
        assert drawn(n, share) == pytest.approx(expected, abs=1e-9)
    ratio = FunnelLaw(FunnelKind.RATIO, 1.0)
    for size in case.data["expected"]:
        expected = np.maximum(case.expected(f"ratio, E={size}"), 0)
        assert drawn(size, ratio) == pytest.approx(expected, abs=1e-9)


def test_interpolated_limits_of_one_expected_event_equal_a_hand_count() -> None:
    # F(2) = 0.9197, F(3) = 0.9810: 3 - (0.9810 - 0.975) / (0.9810 - 0.9197) = 2.902.
    limits = funnel_limits([1.0], FunnelLaw(FunnelKind.RATIO, 1.0))
    assert limits.upper[0] == pytest.approx(2.9019, abs=1e-4)
    assert (limits.least[0], limits.most[0]) == (0, 3)


@given(st.floats(0.2, 3000), st.floats(0.05, 4), st.sampled_from(LEVELS))
def test_counts_outside_have_at_most_half_of_what_the_level_leaves_out(
    size: float, target: float, level: float
) -> None:
    limits = funnel_limits([size], FunnelLaw(FunnelKind.RATIO, target), level=level)
    law, tail = poisson(size * target), (1 - level) / 2
    least, most = int(limits.least[0]), int(limits.most[0])
    assert law.sf(most) <= tail < law.sf(most - 1)
    assert law.cdf(least - 1) <= tail < law.cdf(least)
    assert (least - 1) / size - 1e-9 <= limits.lower[0] <= least / size + 1e-9
    assert (most - 1) / size - 1e-9 <= limits.upper[0] <= most / size + 1e-9


@given(st.integers(1, 2000), st.floats(0.01, 0.99), st.sampled_from(LEVELS))
def test_counts_outside_a_share_likewise(n: int, target: float, level: float) -> None:
    limits = funnel_limits([n], FunnelLaw(FunnelKind.SHARE, target), level=level)
    law, tail = binom(n, target), (1 - level) / 2
    least, most = int(limits.least[0]), int(limits.most[0])
    assert law.sf(most) <= tail * (1 + 1e-9) < law.sf(most - 1)
    assert law.cdf(least - 1) <= tail * (1 + 1e-9) < law.cdf(least)
    assert 0 <= limits.lower[0] <= limits.upper[0] <= 1


def test_prediction_limits_about_a_target_are_not_confidence_limits_about_a_count() -> None:
    # Ten expected: counts 4 to 17 lie inside. About a count of ten the rate may be 4.8 to 18.4.
    limits = funnel_limits([10.0], FunnelLaw(FunnelKind.RATIO, 1.0))
    about_ten = poisson_rate(10, 10.0)
    assert (limits.least[0], limits.most[0]) == (4, 17)
    assert about_ten.upper == pytest.approx(1.839, abs=1e-3)
    assert limits.upper[0] == pytest.approx(1.616, abs=1e-3)


def test_units_whose_true_ratios_differ_have_negative_binomial_limits() -> None:
    # R 4.2.2, qnbinom with size 1 / 0.04 and mean 30.
    law = FunnelLaw(FunnelKind.RATIO, 1.0, between_variance=0.04)
    found = [funnel_limits([30.0], law, level=each) for each in LEVELS]
    assert [(int(each.least[0]), int(each.most[0])) for each in found] == [(16, 47), (10, 60)]
    counts = nbinom(25, 25 / (25 + 30.0))
    assert counts.sf(47) <= 0.025 < counts.sf(46)


def test_units_whose_true_shares_differ_have_beta_binomial_limits() -> None:
    between = 0.002
    law = FunnelLaw(FunnelKind.SHARE, 0.2, between_variance=between)
    precision = 0.2 * 0.8 / between - 1
    counts = betabinom(60, 0.2 * precision, 0.8 * precision)
    assert counts.var() == pytest.approx(60 * 0.16 + 60 * 59 * between)
    for level in LEVELS:
        limits, tail = funnel_limits([60], law, level=level), (1 - level) / 2
        assert counts.sf(limits.most[0]) <= tail < counts.sf(limits.most[0] - 1)
        assert counts.cdf(limits.least[0] - 1) <= tail < counts.cdf(limits.least[0])


@pytest.mark.parametrize(
    ("kind", "target", "between", "by_chance"),
    [
        (FunnelKind.RATIO, 1.0, 1e-4, 1.0),
        (FunnelKind.SHARE, 0.3, 2e-5, 0.21),
    ],
)
def test_limits_of_large_units_are_the_normal_ones(
    kind: FunnelKind, target: float, between: float, by_chance: float
) -> None:
    # Spiegelhalter's form: target + z * sqrt(s^2 + tau^2).
    size = 20_000
    law = FunnelLaw(kind, target, between_variance=between)
    for level in LEVELS:
        limits = funnel_limits([size], law, level=level)
        reach = normal_deviate(level) * np.sqrt(by_chance / size + between)
        assert limits.upper[0] - target == pytest.approx(reach, rel=0.02)
        assert target - limits.lower[0] == pytest.approx(reach, rel=0.02)


def test_variance_between_units_that_vanishes_gives_the_limits_of_chance_alone() -> None:
    for kind, target in ((FunnelKind.RATIO, 1.2), (FunnelKind.SHARE, 0.3)):
        tiny = funnel_limits([50], FunnelLaw(kind, target, between_variance=1e-9))
        plain = funnel_limits([50], FunnelLaw(kind, target))
        assert (tiny.least[0], tiny.most[0]) == (plain.least[0], plain.most[0])
        assert tiny.upper[0] == pytest.approx(plain.upper[0], abs=1e-5)


def test_inflated_limits_lie_further_from_the_target_by_the_same_factor() -> None:
    plain = funnel_limits([40.0], FunnelLaw(FunnelKind.RATIO, 1.0))
    wide = funnel_limits([40.0], FunnelLaw(FunnelKind.RATIO, 1.0, inflation=1.5))
    assert wide.upper[0] - 1 == pytest.approx(1.5 * (plain.upper[0] - 1))
    assert 1 - wide.lower[0] == pytest.approx(1.5 * (1 - plain.lower[0]))
    assert wide.most[0] == np.floor(40 + 1.5 * (plain.most[0] - 40))


@given(st.integers(1, 300), st.floats(0.05, 0.9))
def test_limits_narrow_with_size_and_widen_with_level(n: int, target: float) -> None:
    law = FunnelLaw(FunnelKind.RATIO, target)
    two, three = (funnel_limits([n, 4 * n], law, level=each) for each in LEVELS)
    assert two.upper[1] < two.upper[0] < three.upper[0]
    assert three.lower[0] <= two.lower[0] <= two.lower[1] <= target


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"target": 0.0}, "lies above 0"),
        ({"target": 1.0}, "below 1"),
        ({"inflation": 0.9}, "1 or more"),
        ({"between_variance": -0.1}, "variance between units"),
        ({"between_variance": 0.3}, "variance between units"),
    ],
)
def test_law_that_cannot_be_is_refused(change: dict[str, float], rule: str) -> None:
    sound = {"target": 0.5, "inflation": 1.0, "between_variance": 0.1}
    FunnelLaw(FunnelKind.SHARE, **sound)
    with pytest.raises(ValueError, match=rule):
        FunnelLaw(FunnelKind.SHARE, **(sound | change))


@pytest.mark.parametrize("size", [0, -1, 2.5, float("nan")])
def test_size_that_is_none_is_refused(size: float) -> None:
    with pytest.raises(ValueError, match=r"size is above 0.*index 1"):
        funnel_limits([3, size], FunnelLaw(FunnelKind.SHARE, 0.5))


def test_level_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="level"):
        funnel_limits([3], FunnelLaw(FunnelKind.SHARE, 0.5), level=1.0)


def test_sum_that_would_take_too_long_is_refused() -> None:
    law = FunnelLaw(FunnelKind.SHARE, 0.5, between_variance=0.01)
    with pytest.raises(ValueError, match="multiplicative"):
        funnel_limits([2_000_000], law)

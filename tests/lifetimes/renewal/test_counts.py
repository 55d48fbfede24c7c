"""Chances of counts of failures: closed forms, a published table, and slow second computations."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import pdtrc

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.renewal import sequence
from garage.lifetimes.renewal.counts import failure_counts, renewal_count_probability
from garage.lifetimes.renewal.table import renewal_table
from tests.lifetimes.renewal.phases import StagesLaw


def expected_failures(law: WeibullLaw, distance: float) -> float:
    """The renewal function, as the sum of the chances of 1, 2, 3, ... or more failures."""
    total, k = 0.0, 1
    while (chance := renewal_count_probability(law, law, distance, k)) > 1e-12:
        total, k = total + chance, k + 1
    return total


def test_expected_failures_equal_the_printed_table() -> None:
    # Tijms, A First Course in Stochastic Models, 2003, table 8.1.1, page 312: the renewal
    # function of a Weibull law with mean 1 and squared coefficient of variation 0.25.
    law = WeibullLaw(2.1013490946885436, 1.129063389539609)
    printed = {0.2: 0.0261, 0.4: 0.1087, 0.8: 0.4141, 1.0: 0.6091, 1.2: 0.8143}
    for distance, failures in printed.items():
        assert expected_failures(law, distance) == pytest.approx(failures, abs=6e-5)


def test_expected_failures_equal_the_check_values(check_case: Callable[[str], Any]) -> None:
    case = check_case("RN-01")
    law = WeibullLaw(case.data["shape"], case.data["eta"])
    np.testing.assert_allclose(
        [expected_failures(law, each) for each in case.data["t"]],
        case.expected("M(t)"),
        atol=1e-9,
    )
    case = check_case("RN-03")
    law = WeibullLaw(1.0, 1.0)
    # 1e-11, not 1e-12: the sum stops at chances below 1e-12.
    np.testing.assert_allclose(
        [expected_failures(law, each) for each in case.data["t"]],
        case.expected("exponential(1): M(t) = t"),
        atol=1e-11,
    )


@pytest.mark.parametrize("expected", [0.05, 1.0, 6.0, 20.0])
@pytest.mark.parametrize("age", [0.0, 3.0])
def test_pure_chance_is_a_poisson_count_at_any_age(expected: float, age: float) -> None:
    law = WeibullLaw(1.0, 2.0)
    for k in (1, 2, 3, 7, 25):
        assert renewal_count_probability(
            law, law, 2.0 * expected, k, first_age=age
        ) == pytest.approx(pdtrc(k - 1, expected), rel=1e-9)


SHAPES = (0.5, 0.8, 1.3, 2.5, 5.0)


@pytest.mark.parametrize("first_shape", SHAPES)
@pytest.mark.parametrize("later_shape", SHAPES)
def test_two_failures_equal_direct_quadrature(first_shape: float, later_shape: float) -> None:
    from scipy.integrate import quad  # reference program; slow to import

    first, later = WeibullLaw(first_shape, 1.0), WeibullLaw(later_shape, 0.6)
    for distance, age in ((0.4, 0.0), (0.4, 0.7), (2.0, 0.01)):

        def chance(left: float, age: float = age) -> float:
            gained = first.cumulative_hazard(age + left) - first.cumulative_hazard(age)
            return float(-np.expm1(-gained))

        # Over the chance of the second life, not its length: no density with a pole.
        direct, _ = quad(
            lambda p, distance=distance: chance(distance - float(later.quantile(p))),
            0.0,
            float(-np.expm1(-later.cumulative_hazard(distance))),
            epsabs=1e-10,
            epsrel=1e-8,
            limit=500,
        )
        found = renewal_count_probability(first, later, distance, 2, first_age=age)
        assert found == pytest.approx(direct, rel=1e-6, abs=1e-9)


def test_three_failures_of_a_worn_first_part_equal_a_simulation() -> None:
    first, later = WeibullLaw(2.5, 300_000.0), WeibullLaw(1.2, 60_000.0)
    rng = np.random.default_rng(2_026)
    n = 400_000
    at_age = float(first.cumulative_hazard(150_000.0))
    left = 300_000.0 * (at_age + rng.exponential(size=n)) ** (1.0 / 2.5) - 150_000.0
    third = left + 60_000.0 * rng.weibull(1.2, size=(2, n)).sum(axis=0)
    share = float((third <= 120_000.0).mean())
    found = renewal_count_probability(first, later, 120_000.0, 3, first_age=150_000.0)
    # Four standard errors of the simulated share.
    assert found == pytest.approx(share, abs=4.0 * np.sqrt(share * (1.0 - share) / n))


@settings(deadline=None, max_examples=25)
@given(st.floats(0.6, 4.0), st.floats(0.6, 4.0), st.floats(0.05, 3.0), st.floats(0.01, 100.0))
def test_more_failures_are_less_likely_and_units_do_not_matter(
    first_shape: float, later_shape: float, distance: float, unit: float
) -> None:
    first, later = WeibullLaw(first_shape, 1.0), WeibullLaw(later_shape, 0.8)
    chances = [renewal_count_probability(first, later, distance, k) for k in range(5)]
    assert chances[0] == 1.0
    assert all(0.0 <= more <= fewer for fewer, more in pairwise(chances))
    farther = renewal_count_probability(first, later, distance * 1.1, 2)
    assert farther >= chances[2]
    scaled = renewal_count_probability(
        WeibullLaw(first_shape, unit), WeibullLaw(later_shape, 0.8 * unit), distance * unit, 3
    )
    assert scaled == pytest.approx(chances[3], rel=1e-5, abs=1e-9)


def test_ends_of_the_range() -> None:
    law = WeibullLaw(2.5, 300_000.0)
    assert renewal_count_probability(law, law, 0.0, 0) == 1.0
    assert renewal_count_probability(law, law, 0.0, 1) == 0.0
    assert renewal_count_probability(law, law, 1e9, 2) == 1.0
    assert renewal_count_probability(law, law, 100_000.0, 1) == pytest.approx(
        1.0 - float(law.survival(100_000.0))
    )
    assert 0.0 < renewal_count_probability(law, law, 1_000.0, 4) < 1e-20


@pytest.mark.parametrize(
    ("distance", "k", "age", "words"),
    [
        (-1.0, 2, 0.0, "distance"),
        (float("inf"), 2, 0.0, "distance"),
        (1.0, -1, 0.0, "k must"),
        (1.0, 2, -1.0, "first_age"),
        (1.0, 2, float("nan"), "first_age"),
    ],
)
def test_refuses_what_has_no_answer(distance: float, k: int, age: float, words: str) -> None:
    law = WeibullLaw(2.0, 1.0)
    renewal_count_probability(law, law, 1.0, 2)
    with pytest.raises(ValueError, match=words):
        renewal_count_probability(law, law, distance, k, first_age=age)


def test_says_so_when_no_grid_settles(monkeypatch: pytest.MonkeyPatch) -> None:
    first, later = WeibullLaw(0.5, 1.0), WeibullLaw(5.0, 0.6)
    renewal_count_probability(first, later, 8.0, 12)
    monkeypatch.setattr(sequence, "MOST_PANELS", 2)
    with pytest.raises(ArithmeticError, match="do not settle"):
        renewal_count_probability(first, later, 8.0, 12)


@pytest.mark.parametrize("age", [0.0, 3.0])
def test_all_counts_under_pure_chance_are_poisson(age: float) -> None:
    law = WeibullLaw(1.0, 2.0)
    at = np.array([0.0, 0.1, 2.0, 12.0, 40.0])
    found = failure_counts(law, law, at, 30, first_age=age)
    wanted = pdtrc(np.arange(-1, 31), at[:, None] / 2.0)
    wanted[:, 0] = 1.0
    np.testing.assert_allclose(found.at_least, wanted, atol=1e-11)
    assert found.exactly.shape == (5, 31)
    np.testing.assert_allclose(found.exactly.sum(axis=1) + found.more, 1.0, atol=1e-12)


@pytest.mark.parametrize("stages", [2, 3, 6])
def test_counts_of_stages_are_whole_parts_of_poisson_counts(stages: int) -> None:
    law = StagesLaw(stages, 3.0)
    at = np.array([0.3, 1.0, 4.0, 9.0])
    found = failure_counts(law, law, at, 4)
    wanted = pdtrc(stages * np.arange(1, 6) - 1, 3.0 * at[:, None])
    np.testing.assert_allclose(found.at_least[:, 1:], wanted, atol=1e-10)


@settings(max_examples=25)
@given(st.floats(0.5, 5.0), st.floats(0.5, 5.0), st.floats(0.05, 6.0), st.floats(0.0, 1.0))
def test_counts_add_up_to_the_expected_failures(
    first_shape: float, later_shape: float, reach: float, age: float
) -> None:
    first, later = WeibullLaw(first_shape, 1.3), WeibullLaw(later_shape, 1.0)
    at = np.array([reach / 3, reach])
    counts = failure_counts(first, later, at, 40, first_age=age)
    table = renewal_table(first, later, at, first_age=age)
    mean = counts.at_least[:, 1:].sum(axis=1)
    missing = counts.more / 1e-9  # the tail beyond 41 counts only where it is reached
    if np.all(missing < 1.0):
        np.testing.assert_allclose(mean, table.expected, atol=1e-7)
    else:
        assert np.all(mean <= table.expected + 1e-7)
    assert np.all(np.diff(counts.at_least, axis=1) <= 0)
    assert np.all(counts.at_least[1] >= counts.at_least[0])
    # One distance alone, and relatively accurate.
    for k in (1, 2, 5):
        alone = renewal_count_probability(first, later, reach, k, first_age=age)
        assert counts.at_least[1, k] == pytest.approx(alone, abs=1e-8)


def test_counts_equal_simulated_histories() -> None:
    first, later = WeibullLaw(0.7, 2.0), WeibullLaw(3.0, 1.0)
    rng = np.random.default_rng(11)
    n = 1_000_000
    start = float(first.cumulative_hazard(0.5))
    left = 2.0 * (start + rng.exponential(size=n)) ** (1 / 0.7) - 0.5
    gaps = np.vstack([left, rng.weibull(3.0, size=(8, n))])
    failures = (np.cumsum(gaps, axis=0) <= 3.0).sum(axis=0)
    found = failure_counts(first, later, [3.0], 5, first_age=0.5)
    shares = np.bincount(failures, minlength=9)[:6] / n
    # Four standard errors.
    np.testing.assert_allclose(found.exactly[0], shares, atol=4 * 0.5 / np.sqrt(n))


def test_counts_refuse_what_has_no_answer() -> None:
    law = WeibullLaw(2.0, 1.0)
    assert failure_counts(law, law, [], 2).at_least.shape == (0, 4)
    assert failure_counts(law, law, [0.0], 0).at_least.tolist() == [[1.0, 0.0]]
    with pytest.raises(ValueError, match="most must be at least 0"):
        failure_counts(law, law, [1.0], -1)
    with pytest.raises(ValueError, match="distances"):
        failure_counts(law, law, [-1.0], 1)

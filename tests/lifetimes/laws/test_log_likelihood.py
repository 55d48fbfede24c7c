"""The log-likelihood against terms written out one by one, and its slopes against numeric ones."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from tests.lifetimes.laws.written_out import lives_of, log_likelihood, spans

each_family = pytest.mark.parametrize("family", ["weibull", "lognormal", "log-logistic"])
some_lives = st.lists(spans, min_size=1, max_size=12)
shapes, places = st.floats(0.2, 5), st.floats(-1.5, 1.5)


def likelihood_of(family: str, lives: IntervalLives) -> LogLikelihood:
    return LogLikelihood.of(FAMILIES[family].standard, LikelihoodRows.from_intervals(lives))


@each_family
@given(drawn=some_lives, alpha=shapes, beta=places)
def test_value_equals_the_terms_written_out(
    family: str, drawn: list[tuple[int, int, str, int]], alpha: float, beta: float
) -> None:
    lives = lives_of(drawn)
    likelihood = likelihood_of(family, lives)
    mu = likelihood.reference - beta / alpha
    wanted = log_likelihood(family, lives, mu, 1 / alpha)
    assert likelihood.at(alpha, beta).value == pytest.approx(wanted, rel=1e-8, abs=1e-8)


@each_family
@given(drawn=some_lives, alpha=shapes, beta=places)
def test_slopes_equal_numeric_ones(
    family: str, drawn: list[tuple[int, int, str, int]], alpha: float, beta: float
) -> None:
    likelihood, step = likelihood_of(family, lives_of(drawn)), 1e-5
    height = likelihood.at(alpha, beta)
    ahead = [likelihood.at(alpha + step, beta), likelihood.at(alpha, beta + step)]
    behind = [likelihood.at(alpha - step, beta), likelihood.at(alpha, beta - step)]
    slope = [(a.value - b.value) / 2 / step for a, b in zip(ahead, behind, strict=True)]
    bend = [(a.gradient - b.gradient) / 2 / step for a, b in zip(ahead, behind, strict=True)]
    size = 1 + abs(height.value)
    np.testing.assert_allclose(height.gradient, slope, rtol=1e-5, atol=1e-6 * size)
    size = 1 + float(np.abs(height.bend).max())
    np.testing.assert_allclose(height.bend, bend, rtol=1e-5, atol=1e-6 * size)


@each_family
@given(drawn=some_lives, alpha=shapes, beta=places)
def test_without_delayed_entry_it_is_concave(
    family: str, drawn: list[tuple[int, int, str, int]], alpha: float, beta: float
) -> None:
    bend = likelihood_of(family, lives_of(drawn, delayed=False)).at(alpha, beta).bend
    assert np.all(np.linalg.eigvalsh(bend) <= 1e-9 * (1 + np.abs(bend).max()))


@each_family
@given(width=st.floats(1e-9, 1e-3), alpha=shapes, beta=places)
def test_narrow_interval_is_density_times_width(
    family: str, width: float, alpha: float, beta: float
) -> None:
    # On both sides of the width at which the way of computing changes.
    middle = 100.0
    narrow = IntervalLives([middle - width / 2], [middle + width / 2])
    exact = IntervalLives([middle], [middle])
    between, at = (likelihood_of(family, lives) for lives in (narrow, exact))
    measured = float((narrow.right - narrow.left)[0])
    wide, point = between.at(alpha, beta), at.at(alpha, beta)
    assert wide.value - np.log(measured) == pytest.approx(point.value, abs=1e-7)
    np.testing.assert_allclose(wide.gradient, point.gradient, atol=1e-6)
    np.testing.assert_allclose(wide.bend, point.bend, atol=1e-3)


@pytest.mark.parametrize("family", ["weibull", "lognormal"])
def test_point_where_numbers_run_over_has_no_height(family: str) -> None:
    likelihood = likelihood_of(family, IntervalLives([10, 1e6], [10, np.inf], entry=[0, 5e5]))
    assert likelihood.at(1.0, 0.0).known
    assert not likelihood.at(1e200, 0.0).known


@settings(max_examples=30)
@given(drawn=some_lives, factor=st.sampled_from([1e-3, 1e3, 1e7]))
def test_scaling_the_clock_moves_the_reference_only(
    drawn: list[tuple[int, int, str, int]], factor: float
) -> None:
    lives = lives_of(drawn)
    scaled = IntervalLives(lives.left * factor, lives.right * factor, lives.entry * factor)
    once, there = (likelihood_of("lognormal", each) for each in (lives, scaled))
    exact = float(lives.exact.sum())
    moved = once.at(1.3, 0.2).value - exact * np.log(factor)
    assert there.at(1.3, 0.2).value == pytest.approx(moved, abs=1e-8)

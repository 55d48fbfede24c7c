"""The search for the top of a likelihood: from anywhere, and along lines."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES
from garage.lifetimes.laws.law_search import (
    best_on_line,
    best_place,
    climb,
    highest_top,
    place_line,
    shape_line,
)
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.log_likelihood import LogLikelihood

each_family = pytest.mark.parametrize("family", ["weibull", "lognormal", "log-logistic"])

LIVES = IntervalLives([10, 15, 0, 40, 22, 5, 30], [20, 15, 30, np.inf, 22, 9, 45])


def likelihood_of(family: str, lives: IntervalLives = LIVES) -> LogLikelihood:
    return LogLikelihood.of(FAMILIES[family].standard, LikelihoodRows.from_intervals(lives))


@each_family
@settings(max_examples=40)
@given(alpha=st.floats(0.05, 100), beta=st.floats(-5, 5))
def test_climb_ends_at_the_one_top_from_anywhere(family: str, alpha: float, beta: float) -> None:
    likelihood = likelihood_of(family)
    top, again = highest_top(likelihood), climb(likelihood, alpha, beta)
    assert top.settled
    # Where a start lies so far off that no slope has a value, the climb says so.
    if again.settled:
        assert (again.alpha, again.beta) == pytest.approx((top.alpha, top.beta), abs=1e-6)
    else:
        assert not likelihood.at(alpha, beta).known
    assert top.height.gradient == pytest.approx([0, 0], abs=1e-9)


@each_family
@given(
    start=st.floats(0.05, 150),
    figure=st.floats(-1.0, 1.0),
)
@settings(max_examples=40)
def test_top_of_a_line_of_shapes_is_where_its_slope_ends(
    family: str, start: float, figure: float
) -> None:
    line = shape_line(0.3, figure)
    along, height = best_on_line(likelihood_of(family), line, start)
    assert height.known
    assert line.low < along < line.high
    assert line.direction @ height.gradient == pytest.approx(0, abs=1e-6)


@each_family
def test_line_that_rises_to_its_end_ends_there(family: str) -> None:
    # All failed by their first look: the sooner the likelier.
    likelihood = likelihood_of(family, IntervalLives([0, 0], [10, 20]))
    assert not best_place(likelihood, 1.0).settled
    assert best_place(likelihood_of(family), 1.0).settled
    line = place_line(1.0)
    assert line.at(line.high) == (1.0, line.high)


@each_family
def test_top_with_delayed_entry_is_no_lower_than_a_grid(family: str) -> None:
    rng = np.random.default_rng(9)
    for _ in range(5):
        entry = rng.uniform(1, 100, 12).round()
        exit_ = entry + rng.uniform(1, 60, 12).round()
        failed = rng.uniform(size=12) < 0.6
        lives = IntervalLives(exit_, np.where(failed, exit_, np.inf), entry)
        likelihood = likelihood_of(family, lives)
        top = highest_top(likelihood)
        grid = [
            likelihood.at(alpha, beta).value
            for alpha in np.geomspace(0.03, 60, 40)
            for beta in np.linspace(-6, 6, 40)
        ]
        assert top.height.value >= max(grid) - 1e-9

"""Probability plots: plotting positions, the papers of the families, and the fitted line."""

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from garage.lifetimes.curves.interval_curve import interval_curve
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.laws.probability_plot import PlotAxes, ProbabilityPlot, probability_plot
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of

every_family = pytest.mark.parametrize("family", list(FAMILIES))


def plot_of(table: RiskTable, family: FamilyName) -> ProbabilityPlot:
    return probability_plot(product_limit(table), law_fit(table, family=family))


def test_points_of_a_complete_sample_stand_at_the_middles_of_equal_shares() -> None:
    # Without withdrawals the middles of the steps are (i - 1/2) / n, Hazen's positions
    # (Meeker and Escobar 1998, section 6.4.1, from memory).
    plot = plot_of(table_of([30, 10, 50, 20, 40], [1] * 5), "weibull")
    assert plot.points.clock.tolist() == [10, 20, 30, 40, 50]
    assert plot.points.share == pytest.approx([0.1, 0.3, 0.5, 0.7, 0.9])


def test_exact_failures_among_looks_stand_at_the_middles_of_their_steps() -> None:
    # 10 and 20 exact, one between looks at 30 and 40, one unfailed at 40: a quarter each.
    lives = IntervalLives([10, 20, 30, 40], [10, 20, 40, np.inf])
    plot = probability_plot(interval_curve(lives, unit="steps"), law_fit(lives, family="weibull"))
    assert plot.points.clock.tolist() == [10, 20, 40]
    assert plot.points.share == pytest.approx([1 / 8, 3 / 8, 3 / 4])


def test_points_with_withdrawals_by_hand() -> None:
    # Steps: 4 at risk, 3/4; 2 at risk, 3/8; 1 at risk, 0.
    plot = plot_of(table_of([10, 15, 20, 30], [1, 0, 1, 1]), "lognormal")
    assert plot.points.share == pytest.approx([1 / 8, (1 / 4 + 5 / 8) / 2, (5 / 8 + 1) / 2])


@every_family
def test_law_is_straight_on_its_own_paper(family: FamilyName) -> None:
    plot = plot_of(table_of([10, 15, 22, 35, 50, 51], [1, 1, 0, 1, 1, 0]), family)
    assert plot.line is not None
    slopes = np.diff(plot.line.share_place) / np.diff(plot.line.clock_place)
    assert slopes == pytest.approx(np.full(len(slopes), slopes[0]), rel=1e-8)
    crooked = PlotAxes("lognormal" if family != "lognormal" else "weibull")
    other = np.diff(crooked.of_share(plot.line.share)) / np.diff(crooked.of_clock(plot.line.clock))
    assert np.ptp(other) > 0.01 * abs(other).max()


@every_family
def test_line_and_limits_are_the_fits_own(family: FamilyName) -> None:
    table = table_of([10, 15, 22, 35, 50, 51], [1, 1, 0, 1, 1, 0])
    fit = law_fit(table, family=family)
    line = probability_plot(product_limit(table), fit, line_points=7).line
    assert line is not None
    assert line.clock.shape == (7,)
    for place in (0, 3, 6):
        sound = fit.survival_at(float(line.clock[place]))
        assert sound is not None
        assert 1 - line.share[place] == pytest.approx(sound.value)
        assert 1 - line.upper[place] == pytest.approx(sound.wald_lower)
        assert 1 - line.lower[place] == pytest.approx(sound.wald_upper)
    axes = PlotAxes(family)
    assert line.lower_place == pytest.approx(axes.of_share(line.lower), rel=1e-6)
    assert line.upper_place == pytest.approx(axes.of_share(line.upper), rel=1e-6)


@pytest.mark.parametrize(
    ("family", "deviate"),
    [
        ("weibull", stats.gumbel_l.ppf),
        ("lognormal", stats.norm.ppf),
        ("log-logistic", stats.logistic.ppf),
        ("exponential", stats.expon.ppf),
    ],
)
def test_axis_of_shares_equals_scipys_quantiles(
    family: FamilyName, deviate: Callable[[np.ndarray], np.ndarray]
) -> None:
    shares = np.array([0.001, 0.1, 0.5, 0.999])
    assert PlotAxes(family).of_share(shares) == pytest.approx(deviate(shares))


def test_interval_points_stand_at_the_ends_of_their_sets() -> None:
    # Each set's share failed by its end: 1/4, then 3/4; the rest is unfailed.
    lives = IntervalLives([10, 20, 20, 30], [20, 30, 30, np.inf])
    plot = probability_plot(interval_curve(lives, unit="steps"), law_fit(lives, family="weibull"))
    assert plot.points.clock == pytest.approx([20, 30])
    assert plot.points.share == pytest.approx([0.25, 0.75])


def test_points_beyond_a_thin_place_are_left_out() -> None:
    # Two lives early, of which one fails at once; many come under watch later.
    exit_, cause = [5, 60, *range(40, 60)], [1, 0] + [1] * 20
    thin = table_of(exit_, cause, entry=[0, 0] + [20] * 20)
    early = table_of(exit_, cause)
    assert plot_of(early, "weibull").points.clock[0] == 5
    plot = plot_of(thin, "weibull")
    assert len(plot.points.clock) == 0
    assert plot.status is Status.SMALL_RISK_SET
    assert "only 2 at risk" in plot.reason
    assert plot.line is not None
    assert np.all(np.diff(plot.line.clock) > 0)


def test_fit_without_a_law_leaves_the_points_alone() -> None:
    plot = plot_of(table_of([10, 10, 20], [1, 1, 0]), "weibull")
    assert (plot.status, plot.line) == (Status.ONE_DISTANCE, None)
    assert plot.points.clock.tolist() == [10]
    nothing = plot_of(table_of([10, 20], [0, 0]), "weibull")
    assert (nothing.status, nothing.line, len(nothing.points.clock)) == (
        Status.NO_FAILURES,
        None,
        0,
    )


def test_curve_of_those_that_reached_a_distance_is_refused() -> None:
    table = table_of([10, 15, 22], [1, 1, 1])
    fit = law_fit(table, family="weibull")
    with pytest.raises(ValueError, match="needs shares of all lives"):
        probability_plot(product_limit(table, given_survival_to=5), fit)
    with pytest.raises(ValueError, match="at least 2 places; got 1"):
        probability_plot(product_limit(table), fit, line_points=1)

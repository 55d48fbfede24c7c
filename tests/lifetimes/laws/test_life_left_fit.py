"""Life left under a fitted law: closed forms, a slow integral, and how often ranges hold."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.random import Generator

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.drawn import DrawnLaws
from garage.lifetimes.laws.families import FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.laws.life_left import LifeLeft
from garage.lifetimes.laws.life_left_fit import FittedLifeLeft, life_left_of_fit
from garage.lifetimes.laws.lognormal import LognormalLaw
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import WeibullFit, weibull_fit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status

LAW = WeibullLaw(2.5, 100_000.0)


def fit_of(rng: Generator, lives: int, watched_to: float = 1e9) -> WeibullFit:
    exits = np.maximum(np.round(100_000.0 * rng.weibull(2.5, lives)), 1.0)
    failed = exits <= watched_to
    arrays = LivesArrays(np.zeros(lives), np.minimum(exits, watched_to), failed.astype(int))
    return weibull_fit(RiskTable.from_lives(arrays, unit="km"))


@dataclass(frozen=True)
class StatedFit:
    """A fit whose law and covariance are simply stated."""

    law: WeibullLaw | LognormalLaw
    log_parameters: FloatArray
    log_covariance: FloatArray
    n: int = 100
    failed: int = 50
    status: Status = Status.OK
    reason: str = ""
    level: float = 0.95


def stated(covariance: list[list[float]]) -> StatedFit:
    return StatedFit(LAW, np.log([LAW.shape, LAW.scale]), np.array(covariance))


@pytest.mark.parametrize("now", [0.0, 60_000.0, 150_000.0])
def test_a_fit_without_doubt_gives_the_known_law(now: float) -> None:
    found, known = life_left_of_fit(stated([[1e-14, 0], [0, 1e-14]]), now), LifeLeft(LAW, now)
    for figure, wanted in (
        (found.lasting(30_000.0), float(known.lasting(30_000.0))),
        (found.quantile(0.1), known.quantile(0.1)),
        (found.median, known.median),
        (found.mean_within(80_000.0), known.mean_within(80_000.0)),
    ):
        for each in (figure.value, figure.lower, figure.upper):
            assert each == pytest.approx(wanted, rel=1e-5)


def test_mixture_equals_a_slow_double_integral() -> None:
    from scipy.integrate import dblquad  # reference program; slow to import

    fit, now, further = stated([[0.04, 0.006], [0.006, 0.01]]), 110_000.0, 25_000.0
    inverse = np.linalg.inv(fit.log_covariance)

    def weighted(run: float) -> float:
        def at(log_scale: float, log_shape: float) -> float:
            off = np.array([log_shape, log_scale]) - fit.log_parameters
            hazard = (run / np.exp(log_scale)) ** np.exp(log_shape)
            return float(np.exp(-off @ inverse @ off / 2 - hazard))

        middle = fit.log_parameters
        area = (middle[0] - 1.4, middle[0] + 1.4, middle[1] - 0.7, middle[1] + 0.7)
        return float(dblquad(at, *area, epsabs=1e-9, epsrel=1e-9)[0])

    wanted = weighted(now + further) / weighted(now)
    found = life_left_of_fit(fit, now)
    assert found.lasting(further).value == pytest.approx(wanted, abs=1e-6)
    assert found.quantile(1 - wanted).value == pytest.approx(further, rel=1e-5)


@pytest.mark.parametrize("share", [0.1, 0.5])
def test_limits_of_a_known_shape_equal_the_closed_form(share: float) -> None:
    # At a constant rate a quantile is a multiple of the scale, whose logarithm is normal; weighted
    # by survival to now it is not, so from 0.
    law = WeibullLaw(1.0, 5_000.0)
    fit = StatedFit(law, np.log([1.0, 5_000.0]), np.array([[0.0, 0.0], [0.0, 0.04]]))
    found = life_left_of_fit(fit, 0.0).quantile(share)
    middle = -np.log1p(-share) * 5_000.0
    assert found.lower == pytest.approx(middle * np.exp(-1.959964 * 0.2), rel=4e-3)
    assert found.upper == pytest.approx(middle * np.exp(1.959964 * 0.2), rel=4e-3)
    assert found.value is not None
    # A mixture of exponentials has a lower median than its mean scale, a heavier tail.
    assert found.value < middle * np.exp(0.02)


def test_limits_equal_random_draws_weighted_alike() -> None:
    fit, now = stated([[0.09, 0.01], [0.01, 0.02]]), 90_000.0
    rng = np.random.default_rng(3)
    shape, scale = np.exp(
        rng.multivariate_normal(fit.log_parameters, fit.log_covariance, 400_000)
    ).T
    start = (now / scale) ** shape
    left = scale * (start + np.log(2)) ** (1 / shape) - now
    order = np.argsort(left)
    share = np.cumsum(np.exp(-start)[order])
    wanted = np.interp([0.025, 0.975], share / share[-1], left[order])
    found = life_left_of_fit(fit, now).median
    np.testing.assert_allclose([found.lower, found.upper], wanted, rtol=0.02)


def test_survival_is_evidence_for_longer_lives() -> None:
    # The fit has seen little; a part far out tells that lives are longer than it thought.
    fit = stated([[0.1, 0.0], [0.0, 0.1]])
    for now in (50_000.0, 150_000.0):
        mixed = life_left_of_fit(fit, now).median.value
        assert mixed is not None
        assert mixed > LifeLeft(LAW, now).median


def test_other_laws_are_mixed_on_their_own_clock() -> None:
    # Log-normal: mu is the log scale, 1 / sigma the shape. With mu alone in doubt, a new part's
    # log life is normal with both variances added.
    law = LognormalLaw(100_000.0, 0.5)
    fit = StatedFit(law, np.log([2.0, 100_000.0]), np.array([[0.0, 0.0], [0.0, 0.09]]))
    wider = LognormalLaw(100_000.0, float(np.sqrt(0.25 + 0.09)))
    found = life_left_of_fit(fit, 0.0)
    for share in (0.05, 0.5, 0.9):
        assert found.quantile(share).value == pytest.approx(float(wider.quantile(share)), rel=1e-6)


def test_mean_of_each_law_equals_its_closed_form() -> None:
    laws, _ = DrawnLaws.around(
        LAW, np.log([LAW.shape, LAW.scale]), np.array([[0.05, 0.0], [0.0, 0.05]])
    ).surviving(40_000.0)
    means = laws.each_mean_within(70_000.0)
    for row in (0, len(means) // 2, len(means) - 1):
        alone = LifeLeft(WeibullLaw(float(laws.shapes[row]), float(laws.scales[row])), 40_000.0)
        assert means[row] == pytest.approx(alone.mean_within(70_000.0), rel=1e-6)


def test_covariance_of_a_fit_is_that_of_its_quantiles() -> None:
    fit = fit_of(np.random.default_rng(1), 40)
    covariance, law = fit.log_covariance, fit.law
    assert covariance is not None
    assert law is not None
    assert fit.shape is not None
    assert fit.scale is not None
    assert np.sqrt(covariance[0, 0]) * law.shape == pytest.approx(fit.shape.standard_error)
    assert np.sqrt(covariance[1, 1]) * law.scale == pytest.approx(fit.scale.standard_error)
    tenth = fit.quantile(0.1)
    assert tenth is not None
    lean = np.array([-np.log(-np.log(0.9)) / law.shape, 1.0])
    error = float(np.sqrt(lean @ covariance @ lean)) * tenth.value
    assert error == pytest.approx(tenth.standard_error)
    np.testing.assert_allclose(fit.log_parameters, np.log([law.shape, law.scale]))


@pytest.mark.parametrize("family", ["exponential", "weibull", "lognormal", "log-logistic"])
def test_fits_of_all_families_are_mixed(family: FamilyName) -> None:
    # 4 000 lives leave little doubt, so the figures are those of the fitted law.
    rng = np.random.default_rng(4)
    lives = np.maximum(np.round(50_000 * rng.lognormal(0.0, 0.6, 4_000)), 1.0)
    ends = np.minimum(lives, 90_000)
    arrays = LivesArrays(np.zeros(4_000), ends, (lives <= 90_000).astype(int))
    fit = law_fit(RiskTable.from_lives(arrays, unit="km"), family=family)
    assert fit.law is not None
    known, left = LifeLeft(fit.law, 30_000.0), life_left_of_fit(fit, 30_000.0)
    assert left.status is Status.OK
    for share in (0.1, 0.5):
        figure = left.quantile(share)
        assert figure.value == pytest.approx(known.quantile(share), rel=2e-3)
        assert figure.lower is not None
        assert figure.upper is not None
        assert figure.lower < known.quantile(share) < figure.upper
    # Of a new part, the limits are those of the fit's own quantile.
    new, own = life_left_of_fit(fit, 0.0).median, fit.quantile(0.5)
    assert own is not None
    assert new.lower == pytest.approx(own.wald_lower, rel=3e-3)
    assert new.upper == pytest.approx(own.wald_upper, rel=3e-3)


def test_few_failures_are_marked_and_none_give_no_figure() -> None:
    fit = fit_of(np.random.default_rng(2), 12)
    assert life_left_of_fit(fit, 10_000.0).median.status is Status.OK
    few = life_left_of_fit(replace(fit, failed=9), 10_000.0)
    assert few.median.status is few.status is Status.FEW_FAILURES
    assert "9 failures" in few.reason
    assert few.median.value == life_left_of_fit(fit, 10_000.0).median.value
    table = RiskTable.from_lives(LivesArrays([0, 0], [50, 60], [0, 0]), unit="km")
    nothing = life_left_of_fit(weibull_fit(table), 10.0)
    for figure in (nothing.median, nothing.lasting(5.0), nothing.mean_within(5.0)):
        assert (figure.value, figure.lower, figure.upper) == (None, None, None)
        assert (figure.status, figure.n, figure.failed) == (Status.NO_FAILURES, 2, 0)
        assert "none of 2 lives failed" in figure.reason


def test_a_part_too_far_out_has_no_figure() -> None:
    fit = stated([[1e-4, 0.0], [0.0, 1e-4]])
    assert life_left_of_fit(fit, 250_000.0).median.value is not None
    for now in (400_000.0, 1e9):
        beyond = life_left_of_fit(fit, now).median
        assert (beyond.value, beyond.lower, beyond.status) == (None, None, Status.BEYOND_WATCH)
        assert "fewer than 1 in 1 000 000 come so far" in beyond.reason


def test_refuses_what_has_no_answer() -> None:
    fit = stated([[0.01, 0.0], [0.0, 0.01]])
    with pytest.raises(ValueError, match="now must be"):
        life_left_of_fit(fit, -1.0)
    left = life_left_of_fit(fit, 1.0)
    with pytest.raises(ValueError, match="between 0 and 1"):
        left.quantile(1.0)
    with pytest.raises(ValueError, match="further distance"):
        left.lasting(-1.0)
    with pytest.raises(ValueError, match="horizon"):
        left.mean_within(0.0)


DESIGNS = {
    # lives, watched to (share failed by then), and how far the part has come (share failed)
    "5 failures": (5, 1.0, 0.5),
    "10 failures": (10, 1.0, 0.5),
    "20 failures": (20, 1.0, 0.5),
    "5 of 50": (50, 0.1, 0.05),
    "15 of 50": (50, 0.3, 0.25),
}
MEASURED = {
    # plain fit, mixture (wanted 0.90), limits about the median (wanted 0.95)
    "5 failures": (0.754, 0.828, 0.832),
    "10 failures": (0.839, 0.872, 0.902),
    "20 failures": (0.872, 0.888, 0.935),
    "5 of 50": (0.726, 0.856, 0.845),
    "15 of 50": (0.840, 0.886, 0.935),
}
REPEATS = 400


def range_holds(left: FittedLifeLeft, now: float) -> float:
    """Share of parts, now so far, that fail between the predicted 5 % and 95 % quantiles."""
    low, high = left.quantile(0.05).value, left.quantile(0.95).value
    assert low is not None
    assert high is not None
    lasting = LifeLeft(LAW, now).lasting([low, high])
    return float(lasting[0] - lasting[1])


@pytest.mark.slow
@pytest.mark.parametrize("design", DESIGNS)
def test_ranges_hold_future_lives_more_often_than_the_plain_fits(design: str) -> None:
    lives, watched, reached = DESIGNS[design]
    rng = np.random.default_rng(77)
    end = float(LAW.quantile(watched)) if watched < 1 else 1e9
    now = float(LAW.quantile(reached))
    median = LifeLeft(LAW, now).median
    plain, mixed, held = [], [], []
    while len(mixed) < REPEATS:
        fit = fit_of(rng, lives, round(end))
        if fit.law is None:
            continue  # a single failure shows no shape
        left = life_left_of_fit(fit, now)
        alone = LifeLeft(fit.law, now)
        lasting = LifeLeft(LAW, now).lasting([alone.quantile(0.05), alone.quantile(0.95)])
        plain.append(float(lasting[0] - lasting[1]))
        mixed.append(range_holds(left, now))
        figure = left.median
        assert figure.lower is not None
        assert figure.upper is not None
        held.append(figure.lower <= median <= figure.upper)
    found = (np.mean(plain), np.mean(mixed), np.mean(held))
    assert found[1] > found[0] + 0.01
    # The figures of the docstring, far within the binomial error of 400 fits.
    np.testing.assert_allclose(found, MEASURED[design], atol=0.006)

"""Over-dispersion: a second program, what chance alone gives, and a truth found again."""

import numpy as np
import pytest
from scipy.stats import norm

from garage.lifetimes.rates.funnel_limits import FunnelKind, FunnelLaw
from garage.lifetimes.rates.over_dispersion import FEWEST_UNITS, over_dispersion, z_scores
from garage.lifetimes.status import Status

RATIO = FunnelLaw(FunnelKind.RATIO, 1.0)
FAILED = [4, 9, 22, 31, 12, 7, 40, 18, 11, 26]
EXPECTED = [10.0] * 3 + [20.0] * 7


def test_ratio_and_variance_equal_a_second_program() -> None:
    # R 4.2.2, the formulas with quantile (type 7) and pchisq.
    found = over_dispersion(FAILED, EXPECTED, RATIO)
    assert (found.ratio, found.between_variance, found.chance) == pytest.approx(
        (5.27367012947, 0.288187566671, 1.61590035927e-09), rel=1e-9
    )
    assert (found.n, found.failed, found.status) == (10, 180, Status.OK)


def test_shares_equal_a_second_program() -> None:
    failed = [3, 8, 2, 15, 9, 1, 6, 22, 4, 12, 7]
    n = [40, 60, 35, 80, 75, 30, 64, 90, 50, 66, 58]
    law = FunnelLaw(FunnelKind.SHARE, sum(failed) / sum(n))
    found = over_dispersion(failed, n, law)
    assert (found.ratio, found.between_variance, found.chance) == pytest.approx(
        (1.123645430095804, 0.000479189001251, 0.042496031589811), rel=1e-9
    )


def test_scores_count_standard_errors_of_chance() -> None:
    law = FunnelLaw(FunnelKind.SHARE, 0.2)
    assert z_scores([20, 36], [100, 100], law).tolist() == pytest.approx([0, 4])


def test_chance_alone_gives_the_ratio_of_a_winsorised_normal() -> None:
    # Second way: the mean square of a normal deviate cut at its 10 % and 90 % quantiles.
    cut = norm.ppf(0.9)
    expected = 0.8 - 2 * cut * norm.pdf(cut) + 0.2 * cut**2
    rng = np.random.default_rng(3)
    size = rng.uniform(50, 500, 20_000)
    found = over_dispersion(rng.poisson(size), size, RATIO)
    assert found.ratio == pytest.approx(expected, abs=0.02)
    assert found.between_variance == 0.0
    assert found.chance is not None
    assert found.chance > 0.001
    whole = over_dispersion(rng.poisson(size), size, RATIO, winsorised=0.0)
    assert whole.ratio == pytest.approx(1.0, abs=0.03)


def test_true_variance_between_units_is_found_again_without_drawing_in() -> None:
    rng = np.random.default_rng(4)
    size = rng.uniform(20, 200, 5_000)
    failed = rng.poisson(size * rng.gamma(1 / 0.04, 0.04, 5_000))
    found = over_dispersion(failed, size, RATIO, winsorised=0.0)
    assert found.between_variance == pytest.approx(0.04, rel=0.1)
    drawn_in = over_dispersion(failed, size, RATIO)
    assert drawn_in.between_variance is not None
    assert 0.5 * 0.04 < drawn_in.between_variance < 0.04


def test_few_units_that_stick_out_do_not_widen_the_funnel() -> None:
    rng = np.random.default_rng(5)
    size = np.full(100, 50.0)
    failed = rng.poisson(size)
    before = over_dispersion(failed, size, RATIO)
    failed[:5] = 150
    after = over_dispersion(failed, size, RATIO)
    assert before.ratio is not None
    assert after.ratio is not None
    assert after.ratio < before.ratio + 0.4
    assert over_dispersion(failed, size, RATIO, winsorised=0.0).ratio > 5


def test_too_few_units_say_so() -> None:
    few = over_dispersion(FAILED[1:], EXPECTED[1:], RATIO)
    assert (few.ratio, few.between_variance, few.chance) == (None, None, None)
    assert (few.status, few.n) == (Status.FEW_CLUSTERS, FEWEST_UNITS - 1)
    assert over_dispersion([], [], RATIO).status is Status.NO_LIVES


@pytest.mark.parametrize("winsorised", [-0.1, 0.5, float("nan")])
def test_winsorised_share_that_is_none_is_refused(winsorised: float) -> None:
    with pytest.raises(ValueError, match="winsorised share"):
        over_dispersion(FAILED, EXPECTED, RATIO, winsorised=winsorised)

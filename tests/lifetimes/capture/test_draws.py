"""Capture shares as laws to draw from."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import beta

from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.capture.share import PART_PRIOR, all_captured, capture_share


def test_means_are_those_of_the_beta_laws() -> None:
    assert CaptureDraws([8, 3], [2, 1]).means().tolist() == pytest.approx([0.8, 0.75])


def test_laws_of_shares_come_in_their_order() -> None:
    share = capture_share(40, 7)
    draws = CaptureDraws.from_shares([share, all_captured()])
    assert draws.means().tolist() == pytest.approx([0.8, 1.0])
    assert (draws.alpha[0], draws.beta[1]) == (share.alpha, 0.0)
    assert draws.stay_away == [0.3, 0.0]


def test_drawn_shares_have_the_limits_and_moments_of_the_share_they_stand_for() -> None:
    """Second way: the moments by an integral over the Beta law; the limits are the share's."""
    share = capture_share(6, 4)
    rng = np.random.default_rng(5)
    draws = CaptureDraws.from_shares([share])
    drawn = np.array([draws.draw(rng)[0] for _ in range(20_000)])
    low, high = np.quantile(drawn, [0.025, 0.975])
    assert (low, high) == pytest.approx((share.lower, share.upper), abs=0.012)

    def moment(power: int) -> float:
        def weighed(p: float) -> float:
            return float((0.7 * p / (1 - 0.3 * p)) ** power * beta.pdf(p, share.alpha, share.beta))

        return float(quad(weighed, 0, 1)[0])

    mean, square = moment(1), moment(2)
    assert drawn.mean() == pytest.approx(mean, abs=4 * math.sqrt((square - mean**2) / drawn.size))
    assert drawn.var() == pytest.approx(square - mean**2, rel=0.05)


def test_stay_away_shares_that_cannot_be_are_refused() -> None:
    assert CaptureDraws([8, 3], [2, 1], [0.0, 0.99]).means()[0] == pytest.approx(0.8)
    for away in ([0.3], [0.3, 1.0], [-0.1, 0.3], [math.nan, 0.3]):
        with pytest.raises(ValueError, match="stay-away share from 0 to below 1"):
            CaptureDraws([8, 3], [2, 1], away)


def test_drawn_shares_have_the_spread_of_their_law() -> None:
    rng = np.random.default_rng(1)
    drawn = np.array([CaptureDraws([8], [2]).draw(rng)[0] for _ in range(4_000)])
    variance = 8 * 2 / (10**2 * 11)
    assert drawn.mean() == pytest.approx(0.8, abs=4 * math.sqrt(variance / 4_000))
    assert drawn.var() == pytest.approx(variance, rel=0.1)
    assert drawn.min() > 0
    assert drawn.max() < 1


def test_share_known_to_be_one_is_drawn_as_one_beside_another_that_is_not() -> None:
    drawn = CaptureDraws([1, 8], [0, 2]).draw(np.random.default_rng(2))
    assert drawn[0] == 1.0
    assert 0 < drawn[1] < 1
    assert ALL_CAPTURED.draw(np.random.default_rng(3)).tolist() == [1.0]


def test_share_too_small_to_hold_is_drawn_above_zero() -> None:
    assert CaptureDraws([1e-5], [50.0]).draw(np.random.default_rng(4))[0] > 0


@pytest.mark.parametrize(
    ("alpha", "beta"),
    [([1, 1], [1]), ([0, 1], [1, 1]), ([math.nan], [1]), ([1, 1], [-0.1, 1]), ([1], [math.nan])],
)
def test_laws_that_cannot_be_are_refused(alpha: list[float], beta: list[float]) -> None:
    with pytest.raises(ValueError, match="alpha above 0 and one beta from 0 on"):
        CaptureDraws(alpha, beta)


def test_share_seen_whole_without_a_prior_has_no_doubt() -> None:
    whole = type(PART_PRIOR)(stay_away=0.3, mean=0.0, weight=0.0)
    share = capture_share(5, 0, prior=whole)
    assert (share.value, share.lower, share.upper, share.n) == (1.0, 1.0, 1.0, 5)
    assert all_captured().n == 0


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 1.5])
def test_levels_at_the_ends_and_beyond_are_refused(level: float) -> None:
    with pytest.raises(ValueError, match="a level lies between 0 and 1"):
        capture_share(1, 1, level=level)

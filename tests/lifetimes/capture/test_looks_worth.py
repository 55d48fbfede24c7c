"""What missing looks would tell, against drawing them one by one."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.capture.looks_worth import SURVIVING, looks_worth
from garage.lifetimes.capture.share import PART_PRIOR, all_captured, capture_share


@pytest.mark.parametrize(("here", "elsewhere"), [(6, 2), (20, 4)])
def test_limits_with_all_looks_are_those_of_drawn_looks_on_average(
    here: int, elsewhere: int
) -> None:
    """Second way: the share that came here is drawn from its law, then how many of those found
    elsewhere each of 40 more looked at brings along, and the limits are taken anew each time."""
    rng = np.random.default_rng(4)
    now, missed = capture_share(here, elsewhere), 40
    worth = looks_worth(now, missed, prior=PART_PRIOR)
    drawn = []
    for _ in range(4000):
        share = rng.beta(now.alpha, now.beta)
        more = rng.negative_binomial(missed, max(share, 0.05))
        then = capture_share(here + missed, elsewhere + more)
        drawn.append(then.upper - then.lower)
    # Limits at the mean are a little unlike the mean of limits.
    assert worth.with_all.upper - worth.with_all.lower == pytest.approx(np.mean(drawn), abs=0.05)


def test_nothing_missing_changes_nothing() -> None:
    worth = looks_worth(capture_share(6, 2), 0, prior=PART_PRIOR)
    assert worth.with_all == worth.now
    assert worth.survival_with_all == worth.survival


def test_more_looks_narrow_more() -> None:
    def width(missed: int) -> float:
        share = looks_worth(capture_share(6, 2), missed, prior=PART_PRIOR).with_all
        return share.upper - share.lower

    assert width(80) < width(20) < width(5) < width(0)


def test_survivors_follow_from_the_hazard_divided_by_the_share() -> None:
    """By hand: 0.8 survive if 0.7 of failures come here; with 0.35 the hazard is twice as high."""
    now = capture_share(6, 2)
    worth = looks_worth(now, 10, prior=PART_PRIOR)
    hazard_here = -np.log(SURVIVING) * now.value
    by_hand = [np.exp(-hazard_here / share) for share in (now.lower, now.upper)]
    assert worth.survival == pytest.approx(by_hand)
    assert worth.survival[0] < worth.survival_with_all[0] < SURVIVING
    assert SURVIVING < worth.survival_with_all[1] < worth.survival[1]


def test_who_sees_all_repairs_learns_nothing_more() -> None:
    worth = looks_worth(all_captured(), 30, prior=PART_PRIOR)
    assert worth.with_all.value == 1
    assert worth.survival_with_all == pytest.approx((SURVIVING, SURVIVING))


def test_share_that_is_not_known_leaves_no_limits() -> None:
    share = capture_share(0, 5, prior=replace(PART_PRIOR, weight=0))
    worth = looks_worth(share, 0, prior=replace(PART_PRIOR, weight=0))
    assert worth.survival is None


def test_missed_is_never_below_nought() -> None:
    with pytest.raises(ValueError, match="never below 0"):
        looks_worth(capture_share(1, 1), -1, prior=PART_PRIOR)

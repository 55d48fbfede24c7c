"""The *expected* curve in simulated workshops, a part of the grid that measured-silence.md shows.

Errors are those against one who knows the capture share, and when each part failed and each
customer left, for both meet the same chance failures.
"""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import RiskTable
from tests.lifetimes.visits.silence_coverage import held
from tests.lifetimes.visits.silence_grid import USUAL, errors, world
from tests.lifetimes.visits.workshop_estimate import AGES_KM
from tests.lifetimes.visits.workshop_world import World, workshop

pytestmark = pytest.mark.slow

SEEDS = range(100, 104)


def bias_of(known: World, stated: float | None = None) -> FloatArray:
    """Mean errors of *expected*, *seen* and *presumed*, shape (3, ages), over four workshops."""
    found = [errors((known, seed, stated)) for seed in SEEDS]
    return np.mean([each[0] for each in found if each is not None], axis=0)


@pytest.mark.parametrize(
    "known",
    [
        world(1.0, 0.4, 0.5, 6.0, False),
        world(1.0, 0.05, 2.0, 1.0, True),
        world(0.75, 0.2, 1.0, 1.0, False),
        world(0.75, 0.4, 1.0, 6.0, True),
        world(0.5, 0.05, 2.0, 6.0, False),
    ],
    ids=str,
)
def test_expected_comes_within_two_hundredths_where_the_others_do_not(known: World) -> None:
    expected, seen, presumed = bias_of(known)
    # Two hundredths is the goal in many workshops; four leave the capture share its chance.
    assert np.all(np.abs(expected) < (0.02 if known.capture == 1 else 0.03)), expected
    assert np.abs(seen[-1]) > np.abs(expected[-1])
    assert presumed[-1] > np.abs(expected[-1])


def test_limits_of_small_workshops_hold_the_truth() -> None:
    """95 % limits held it in 90 to 98 of 100 at each distance; the binomial error is 2."""
    known = world(0.75, 0.2, 1.0, 1.0, False)
    found = [held((known, 0.8, seed, AGES_KM)) for seed in range(100)]
    share = np.mean([each[0] for each in found if each is not None], axis=0)
    assert None not in found
    assert np.all((share >= 0.88) & (share <= 1.0)), share


def test_stay_away_share_stated_too_low_keeps_survival_too_high() -> None:
    known = replace(USUAL, stay_away=0.5)
    right, too_low = bias_of(known)[0], bias_of(known, 0.0)[0]
    assert np.all(too_low[1:] > right[1:] + 0.005)
    assert np.all(np.abs(right) < 0.03)


def test_a_campaign_that_brings_back_those_who_left_keeps_survival_too_high() -> None:
    campaign = bias_of(replace(USUAL, campaign=1.0))[0]
    assert campaign[-1] > 0.03


def test_visits_that_thin_out_after_a_trouble_are_borne() -> None:
    assert np.all(np.abs(bias_of(replace(USUAL, after_trouble=0.5))[0]) < 0.03)


def test_one_who_knows_all_finds_the_truth() -> None:
    known = replace(USUAL, late=True)
    found = []
    for seed in range(12):
        watched = workshop(known, 10_000, np.random.default_rng(seed)).watched
        curve = product_limit(
            RiskTable.from_lives(watched, unit="km"), given_survival_to=known.start_km
        )
        found.append([curve.at(age).value for age in AGES_KM])
    off = np.array(found, float) - known.truth(np.array(AGES_KM))
    error = off.std(axis=0, ddof=1) / np.sqrt(len(found))
    assert np.all(error < 0.006)
    assert np.all(np.abs(off.mean(axis=0)) < 3 * error)

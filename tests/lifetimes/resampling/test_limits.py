"""Limits where resampling has nothing to say, or too little."""

import numpy as np
import pytest

from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.resampling.limits import FEWEST_CLUSTERS, REPEATS, ResamplingOptions
from garage.lifetimes.resampling.steps import ClusteredLives
from garage.lifetimes.resampling.vehicles import resample_incidence, resample_survival
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of

EXITS = [12, 25, 31, 44, 58, 63, 71, 86]
FAILED = [1, 0, 1, 1, 0, 1, 1, 0]
EIGHT = ClusteredLives([0] * 8, EXITS, FAILED, range(8))


def test_two_repeats_are_the_fewest() -> None:
    assert ResamplingOptions(repeats=2).repeats == 2
    with pytest.raises(ValueError, match="at least 2 repeats; got 1"):
        ResamplingOptions(repeats=1)


def test_few_vehicles_are_not_resampled_and_more_are() -> None:
    options = ResamplingOptions()
    assert options.repeats_over(FEWEST_CLUSTERS - 1) == 2
    assert options.repeats_over(FEWEST_CLUSTERS) == REPEATS
    assert options.repeats_over(FEWEST_CLUSTERS + 1) == REPEATS


def test_few_vehicles_keep_the_medians_limits_and_say_so() -> None:
    median = resample_survival(EIGHT, ALL_CAPTURED, [], rng=np.random.default_rng(0)).median
    plain = product_limit(table_of(EXITS, FAILED)).median
    assert median is not None
    assert (median.value, median.lower, median.upper) == (plain.value, plain.lower, plain.upper)
    assert median.status is Status.FEW_CLUSTERS
    assert median.reason.startswith("8 vehicles")


def test_few_vehicles_scale_incidence_limits_like_the_incidence() -> None:
    # Half of the failures are seen: the figure and its limits are twice those seen, cut at 1.
    halves = CaptureDraws([50.0], [50.0])
    point = resample_incidence(EIGHT, halves, [31], rng=np.random.default_rng(0)).points[0]
    seen = cumulative_incidence(table_of(EXITS, FAILED)).at("cause 1", 31)
    assert None not in (seen.value, seen.lower, seen.upper)
    assert point.value == pytest.approx(2 * seen.value)  # type: ignore[operator]
    assert point.lower == pytest.approx(2 * seen.lower)  # type: ignore[operator]
    assert point.upper == pytest.approx(min(2 * seen.upper, 1.0))  # type: ignore[operator]
    assert point.status is Status.FEW_CLUSTERS


def test_many_vehicles_have_a_median_with_limits_drawn() -> None:
    # Forty vehicles like these: each resample has its median among the failing clock values.
    many = ClusteredLives([0] * 40, EXITS * 5, FAILED * 5, range(40))
    median = resample_survival(many, ALL_CAPTURED, [], rng=np.random.default_rng(1)).median
    assert median is not None
    assert median.status is Status.OK
    assert median.reason == ""
    assert median.lower in EXITS
    assert median.upper in EXITS
    assert median.lower < median.upper  # type: ignore[operator]


def test_curve_with_a_thin_place_keeps_the_medians_own_limits() -> None:
    # Two of three fail before forty more come under watch: resampling cannot mend that.
    entry, exit_ = [0, 8, 0, *[50] * 40], [5, 20, 25, *[100] * 40]
    failed = [1, 1, 0, *[1, 0] * 20]
    plain = product_limit(table_of(exit_, failed, entry))
    assert plain.reliable_to == 5
    lives = ClusteredLives(entry, exit_, failed, range(43), unit="steps")
    median = resample_survival(lives, ALL_CAPTURED, [], rng=np.random.default_rng(0)).median
    assert median == plain.median

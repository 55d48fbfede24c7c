"""Which lives end at which step, and what a curve says ahead of the first."""

import numpy as np
import pytest

from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.resampling.steps import ClusteredLives, ResampledSteps
from garage.lifetimes.resampling.vehicles import resample_incidence, resample_survival

EXITS = [10, 20, 30, 40]
ONE_EACH = np.ones(4)


def test_other_end_is_a_mere_leaving_where_nothing_competes() -> None:
    # At risk 4, 3, 2, 1: failures at 10 and 30 leave 3/4, then 3/8.
    lives = ClusteredLives([0] * 4, EXITS, [1, 0, 1, 0], range(4), other_end=[0, 1, 0, 1])
    steps = ResampledSteps(lives, ALL_CAPTURED, competing=False)
    assert steps.clock.tolist() == [10, 30]
    heights = steps.survival(ONE_EACH, ONE_EACH[:1], None, steps.stops)
    assert heights.tolist() == pytest.approx([3 / 4, 3 / 8])
    found = resample_survival(lives, ALL_CAPTURED, [40], rng=np.random.default_rng(0))
    assert (found.failed, found.points[0].value) == (2, pytest.approx(3 / 8))


def test_life_that_failed_is_a_failure_whatever_else_is_said_of_its_end() -> None:
    lives = ClusteredLives([0] * 4, EXITS, [1, 0, 1, 0], range(4), other_end=[1, 1, 0, 0])
    steps = ResampledSteps(lives, ALL_CAPTURED, competing=True)
    table = steps.table(ONE_EACH[:1])
    assert table.failed.tolist()[0] != table.failed.tolist()[1]
    assert steps.failed_at.tolist() == [0, 2]
    assert steps.other_at.tolist() == [1]
    # 1/4, and 1/2 of the 3/4 * 2/3 = 1/2 still free of both.
    assert steps.incidence(ONE_EACH, ONE_EACH[:1]).tolist() == pytest.approx([1 / 4, 1 / 4, 1 / 2])


def test_incidence_ahead_of_the_first_failure_is_nought() -> None:
    lives = ClusteredLives([0] * 40, [10] * 20 + [90] * 20, [1] * 20 + [0] * 20, range(40))
    point = resample_incidence(lives, ALL_CAPTURED, [9], rng=np.random.default_rng(0)).points[0]
    assert (point.value, point.lower) == (0.0, 0.0)
    assert point.upper == pytest.approx(1 - 0.025 ** (1 / 40))


def test_group_without_a_share_is_named_with_those_there_are() -> None:
    lives = ClusteredLives([0], [5], [True], [0], capture_group=[3])
    with pytest.raises(ValueError, match="numbered 0 to 2; got 3 to 3"):
        ResampledSteps(lives, CaptureDraws([8] * 3, [2] * 3), competing=False)

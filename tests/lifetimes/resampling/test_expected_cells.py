"""Stretches of the clock: what of their failures is still to come, with several at once."""

import numpy as np
import pytest

from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.resampling.expected_steps import Cells
from tests.lifetimes.conftest import table_of


def test_few_clock_values_with_tied_failures_have_a_stretch_each() -> None:
    # Failures 2, 1, 3 and 2 of ten; so few clock values have a stretch each.
    exits = [2, 2, 4, 6, 6, 6, 9, 9, 12, 12]
    steps = CurveSteps.from_table(table_of(exits, [1] * 8 + [0] * 2))
    cells = Cells.of_steps(steps, np.array([6.0]))
    assert cells.clock.tolist() == [2, 4, 6, 9]
    assert cells.after.tolist() == [1.0] * 5
    assert np.exp(-np.cumsum(cells.hazard)) == pytest.approx([0.8, 0.7, 0.4, 0.2])


def test_stretch_of_many_steps_counts_its_failures_down() -> None:
    # 1 500 clock values with 1, 2 or 3 failures each, in 512 stretches of two or three values.
    times = np.arange(1_500) % 3 + 1
    exits = np.repeat(np.arange(1, 1_501), times)
    steps = CurveSteps.from_table(table_of(exits, np.ones(len(exits), int)))
    cells = Cells.of_steps(steps, np.array([700.0]))
    assert len(cells.last) in (512, 513)
    for cell in (0, 100, 511):
        inside = np.flatnonzero(cells.of_step == cell)
        assert len(inside) > 1
        left = [times[inside[place:]].sum() for place in range(len(inside))]
        assert cells.after[inside] == pytest.approx(np.array(left) / left[0])


def test_life_that_leaves_within_a_stretch_is_missed_by_the_failures_still_to_come() -> None:
    times = np.arange(1_500) % 3 + 1
    exits = np.repeat(np.arange(1, 1_501), times)
    steps = CurveSteps.from_table(table_of(exits, np.ones(len(exits), int)))
    cells = Cells.of_steps(steps, np.array([700.0]))
    inside = np.flatnonzero(cells.of_step == 7)
    # Two leave after the stretch's first value: that value's failures saw them, the rest do not.
    share = times[inside[1:]].sum() / times[inside].sum()
    found = cells.changes(np.array([1]), cells.clock[inside[:1]], np.array([-2.0]), 2)
    assert found.shape == (2, cells.count)
    assert not found[0].any()
    assert found[1, 7:9] == pytest.approx([-2 * share, -2 * (1 - share)])
    assert np.flatnonzero(found[1]).tolist() == [7, 8]

"""The share of right verdicts on the demo's written truth; docs/verdicts.md says what is measured.

Floors lie a little below what was measured on the demo's seed. They are of few failures, so they
hold the machinery, not the method: that is measured over more regions.
"""

import pytest

from garage.outcomes.early_failures import FlagRule
from tests.demo.verdicts import Judged, judged
from tests.demo.world import Found

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def scores(found: Found) -> Judged:
    return judged(found)


def test_flagged_failures_are_put_down_to_their_written_cause(scores: Judged) -> None:
    # Measured: vehicle 13 of 13, repair 15 of 16, design 0 of 1; 28 of 30 in all.
    assert scores.flagged.failures_in_all >= 25
    assert (scores.flagged.right("vehicle") or 0.0) > 0.85
    assert (scores.flagged.right("repair") or 0.0) > 0.85
    assert scores.flagged.right_in_all > 0.85


def test_short_lives_are_put_down_to_their_written_cause(scores: Judged) -> None:
    # Measured: vehicle 51 of 58, repair 26 of 31, design 15 of 21, chance 15 of 21; 107 of 131.
    assert (scores.short.right("vehicle") or 0.0) > 0.80
    assert (scores.short.right("repair") or 0.0) > 0.75
    assert (scores.short.right("design") or 0.0) > 0.60
    assert (scores.short.right("chance") or 0.0) > 0.60
    assert scores.short.right_in_all > 0.77


def test_verdicts_come_near_those_of_the_written_laws(scores: Judged) -> None:
    # Nobody can be right more often, on average, than with the laws themselves.
    assert scores.short.right_in_all > scores.short_by_law.right_in_all - 0.06
    assert scores.flagged.right_in_all > scores.flagged_by_law.right_in_all - 0.08


def test_few_ordinary_failures_are_flagged(found: Found, scores: Judged) -> None:
    # A false discovery is a flag on a filter that failed by chance: 5 % of the flags at most, on
    # average, are promised; of 30 flags chance may make it three.
    assert scores.flagged.failures("chance") <= 3
    assert all(
        flag.rule in (FlagRule.EARLY_FAILURE, FlagRule.EARLY_REPEAT_FAILURE)
        for flag in found.report.early.flags
    )


def test_faulty_vehicles_with_several_failures_are_flagged(found: Found) -> None:
    failures: dict[int, int] = {}
    for life in found.report.normal.rows:
        if life.failed and life.fitted_here and found.told_of(life.vehicle_id)["faulty"]:
            failures[life.vehicle_id] = failures.get(life.vehicle_id, 0) + 1
    several = {vehicle for vehicle, n in failures.items() if n >= 2}
    flagged = {flag.vehicle_id for flag in found.report.early.flags}
    assert len(several) >= 5
    assert len(several & flagged) / len(several) > 0.85

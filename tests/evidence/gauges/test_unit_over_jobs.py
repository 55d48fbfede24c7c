"""The unit of a display from pairs of several jobs."""

import pytest

from garage.evidence.gauges.unit_inference import Pair, unit_inferred
from garage.evidence.gauges.unit_over_jobs import unit_over_jobs

# Two jobs whose short steps leave more than one unit, as a display of whole figures shows them.
VAGUE = [Pair(0, 0, 1, 100), Pair(1_000, 1, 1, 100)]
HPA = [Pair(0, 2, 1, 50), Pair(10_000, 102, 1, 50)]
KPA = [Pair(0, 0, 0.1, 50), Pair(20_000, 20.1, 0.1, 50)]


def chance(told: object, unit: str) -> float:
    return {each.unit: each.probability for each in told.candidates}[unit]  # type: ignore[attr-defined]


def test_jobs_together_tell_more_than_the_last_alone() -> None:
    alone = unit_inferred(VAGUE)
    assert alone.unit is None
    assert chance(unit_over_jobs([KPA], VAGUE), "kPa") > chance(alone, "kPa")
    assert unit_over_jobs([KPA], VAGUE).unit == "kPa"


def test_offsets_of_two_sensors_are_not_taken_for_a_slope() -> None:
    """Each job's sensor has an offset of its own; thrown together they fit no line."""
    off_by_400_pa = [Pair(5_000, 54, 1, 50), Pair(15_000, 154, 1, 50)]
    assert unit_over_jobs([HPA], off_by_400_pa).unit == "hPa (= mbar)"


def test_pairs_of_this_job_outweigh_a_unit_told_elsewhere() -> None:
    """Fails if a unit once told can never be told otherwise."""
    assert unit_over_jobs([HPA, HPA], KPA).unit == "kPa"


@pytest.mark.parametrize("here", [[], [Pair(10_000, 104, 1, 50)]])
def test_job_without_two_pressures_leaves_what_others_told(here: list[Pair]) -> None:
    assert unit_over_jobs([HPA], here).unit == "hPa (= mbar)"


def test_no_pairs_at_all_ask_for_the_first() -> None:
    told = unit_over_jobs([], [])
    assert (told.unit, told.next_applied_pa) == (None, 30_000.0)

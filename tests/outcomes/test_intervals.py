"""Rule 8: a failure with a last sound odometer stands in the interval table beside the other."""

import pytest

from garage.outcomes.choices import Curve, LifeClass
from garage.outcomes.intervals import IntervalCount, interval_table
from tests.outcomes.worlds import life, together


def test_a_failure_with_a_last_sound_distance_is_an_interval() -> None:
    assert interval_table([life(45_000, failed=True, last_sound_km=30_000)]) == (
        IntervalCount(30_000, 45_000, 1),
    )


def test_it_stands_in_failed_where_it_was_found_all_the_same() -> None:
    members = [life(45_000, failed=True, last_sound_km=30_000)]
    table = together(members).table(Curve.SEEN)
    assert dict(zip(table.clock.tolist(), table.failed[0].tolist(), strict=True))[45_000] == 1


@pytest.mark.parametrize(
    "each",
    [
        life(45_000, failed=True),
        life(45_000, last_sound_km=30_000),
        life(45_000, failed=True, last_sound_km=45_000),
        life(45_000, failed=True, last_sound_km=44_999),
        life(45_000, failed=True, last_sound_km=30_000, life_class=LifeClass.ENTERED_IN_TROUBLE),
    ],
)
def test_without_a_gap_or_a_failure_or_a_life_there_is_none(each: object) -> None:
    assert interval_table([each]) == ()  # type: ignore[list-item]


def test_equal_gaps_are_counted_together_in_order() -> None:
    members = [
        life(45_000, failed=True, last_sound_km=30_000),
        life(20_000, failed=True, last_sound_km=10_000),
        life(45_000, failed=True, last_sound_km=30_000),
    ]
    assert interval_table(members) == (
        IntervalCount(10_000, 20_000, 1),
        IntervalCount(30_000, 45_000, 2),
    )

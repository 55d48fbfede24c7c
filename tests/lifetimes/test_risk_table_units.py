"""A table put on another clock: whole units stay whole, whatever binary fractions make of them."""

import pytest

from garage.lifetimes.risk_table import LivesArrays, RiskTable


def table(entry: int, exit_: int) -> RiskTable:
    return RiskTable.from_lives(LivesArrays([entry], [exit_], [1]), unit="steps")


@pytest.mark.parametrize(
    ("old", "factor", "new"),
    [(100, 0.29, 29), (100, 0.07, 7)],
    ids=["28.999999999999996", "7.000000000000001"],
)
def test_rounding_moves_no_whole_value_on_a_coarser_clock(
    old: int, factor: float, new: int
) -> None:
    assert old * factor != new
    entered = table(old, 1000).in_unit("others", factor)
    assert entered.clock[entered.entered > 0].tolist() == [new]
    left = table(0, old).in_unit("others", factor)
    assert left.clock[left.failed[0] > 0].tolist() == [new]


def test_entries_go_down_and_exits_up_on_a_coarser_clock() -> None:
    coarse = table(15, 33).in_unit("tens", 0.1)
    assert coarse.clock.tolist() == [1, 4]


def test_values_go_to_the_nearest_on_a_finer_clock() -> None:
    assert table(3, 5).in_unit("others", 1.5).clock.tolist() == [5, 8]
    assert table(3, 7).in_unit("others", 1.1).clock.tolist() == [3, 8]

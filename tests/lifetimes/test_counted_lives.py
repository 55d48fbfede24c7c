"""Lives counted some at a time give the table of lives counted all at once."""

import numpy as np
import pytest

from garage.lifetimes import counted_lives, entries_and_exits
from garage.lifetimes.risk_table import LivesArrays, RiskTable


def lives_of(form: str, span: int) -> LivesArrays:
    rng = np.random.default_rng(8)
    entry = rng.integers(-1, 20, 500) * rng.integers(0, 2, 500)
    exit_ = entry + rng.integers(1, span, 500)
    cause = rng.integers(0, 3, 500)
    weight = rng.integers(0, 4, 500) if form != "bare" else None
    capture = rng.uniform(0.4, 1.0, 500) if form == "capture" else None
    return LivesArrays(entry, exit_, cause, weight, capture)


@pytest.mark.parametrize("form", ["bare", "weight", "capture"])
@pytest.mark.parametrize("span", [60, 10**6])
def test_table_of_lives_a_few_at_a_time_is_that_of_all_at_once(
    monkeypatch: pytest.MonkeyPatch, form: str, span: int
) -> None:
    lives = lives_of(form, span)
    whole = RiskTable.from_lives(lives, unit="km", causes=("a", "b"))
    monkeypatch.setattr(entries_and_exits, "LIVES_AT_A_TIME", 7)
    monkeypatch.setattr(counted_lives, "ROWS_AT_A_TIME", 3)
    few = RiskTable.from_lives(lives, unit="km", causes=("a", "b"))
    assert few == whole
    assert few.at_risk.tolist() == whole.at_risk.tolist()
    assert {few.entered.dtype, few.failed.dtype, few.clock.dtype} == {np.dtype(np.int64)}


@pytest.mark.parametrize("form", ["bare", "weight"])
def test_table_counted_is_the_one_that_is_checked_row_by_row(form: str) -> None:
    # Second way: the constructor, which adds up and checks every row anew.
    table = RiskTable.from_lives(lives_of(form, 60), unit="km", causes=("a", "b"))
    again = RiskTable(
        table.unit,
        table.causes,
        table.clock,
        table.entered,
        table.failed,
        table.corrected,
        table.withdrawn,
    )
    assert again == table
    assert again.at_risk.tolist() == table.at_risk.tolist()


# Two bytes count to 65 535.
@pytest.mark.parametrize("together", [2**16 - 1, 2**16, 2**16 + 1, 3 * 2**16])
def test_more_lives_at_one_clock_value_than_a_narrow_count_holds(together: int) -> None:
    entry, exit_, cause = (np.array([few] * 3 + [many] * together) for few, many in ROWS)
    table = RiskTable.from_lives(LivesArrays(entry, exit_, cause), unit="km")
    assert table.clock.tolist() == [0, 2, 5, 9]
    assert table.entered.tolist() == [3, together, 0, 0]
    assert table.failed.tolist() == [[0, 0, together, 0]]
    assert table.withdrawn.tolist() == [0, 0, 0, 3]
    assert table.at_risk.tolist() == [0, 3, 3 + together, 3]


ROWS = ((0, 2), (9, 5), (0, 1))
"""Entry, exit and cause of the few lives, and of the many."""


def test_lives_that_stand_for_none_leave_no_row_even_at_the_lowest_clock_value() -> None:
    lives = LivesArrays([0, 3], [2, 5], [0, 1], weight=[0, 4])
    table = RiskTable.from_lives(lives, unit="km")
    assert table.clock.tolist() == [3, 5]
    assert table.entered.tolist() == [4, 0]
    assert table.at_risk.tolist() == [0, 4]


@pytest.mark.parametrize("form", ["bare", "weight", "capture"])
def test_table_counted_in_large_pages_is_the_same(
    monkeypatch: pytest.MonkeyPatch, form: str
) -> None:
    small = RiskTable.from_lives(lives_of(form, 60), unit="km", causes=("a", "b"))
    monkeypatch.setattr(entries_and_exits, "WORTH_LARGE_PAGES", 0)
    large = RiskTable.from_lives(lives_of(form, 60), unit="km", causes=("a", "b"))
    assert large == small
    assert large.at_risk.tolist() == small.at_risk.tolist()

"""Lives counted some at a time give the table of lives counted all at once."""

import numpy as np
import pytest

from garage.lifetimes import counted_lives
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
    monkeypatch.setattr(counted_lives, "LIVES_AT_A_TIME", 7)
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

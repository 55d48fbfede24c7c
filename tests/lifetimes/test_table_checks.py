"""Each rule of a risk table's counts, broken alone, and what rounding may do to them."""

from typing import Any

import pytest

from garage.lifetimes.risk_table import RiskRows, RiskTable
from garage.lifetimes.table_checks import COUNT_SLACK, refuse_names

SOUND: dict[str, Any] = {
    "clock": [0, 10, 20],
    "entered": [4, 0, 0],
    "failed": [[0, 2, 0]],
    "withdrawn": [0.0, 0.0, 2.0],
    "corrected": [[0.0, 2.5, 0.0]],
}


def table(**change: Any) -> RiskTable:
    return RiskTable.from_rows(RiskRows(**(SOUND | change)), unit="km", causes=["failed"])


def test_sound_rows_make_a_table() -> None:
    assert (table().n, table().failed_total) == (4, 2)


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"entered": [4, 0, -1]}, "`entered` counts lives and is never below 0; got -1.0 at clock"),
        ({"failed": [[0, 2, -1]]}, "`failed` counts lives.* got -1.0 at clock 20"),
        ({"withdrawn": [0.0, -0.5, 2.0]}, "`withdrawn` counts lives.* got -0.5 at clock 10"),
        ({"corrected": [[0.0, 1.9, 0.0]]}, r"never below `failed`; got \[1.9\] for \[2\] at"),
        ({"corrected": [[0.0, 0.0, 0.0]]}, r"never below `failed`; got \[0.0\] for \[2\] at"),
        ({"corrected": [[0.0, 2.0, 0.5]]}, r"never below `failed`; got \[0.5\] for \[0\] at"),
        ({"failed": [[0, 5, 0]], "corrected": [[0, 5, 0]]}, "4.0 at risk, 5 failed, 0.0 with"),
        ({"withdrawn": [0.0, 0.0, 2.1]}, "at clock 20 more lives fail or leave than are at risk"),
        ({"failed": [[1, 2, 0]], "corrected": [[1, 2, 0]]}, "at clock 0 more lives fail or leave"),
    ],
)
def test_counts_that_cannot_be_are_refused(change: dict[str, Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        table(**change)


@pytest.mark.parametrize("causes", [(), ("failed", "failed")])
def test_causes_are_named_once(causes: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="names each of its causes once"):
        refuse_names(causes)
    with pytest.raises(ValueError, match="names each of its causes once"):
        RiskTable.from_rows(RiskRows(**SOUND), unit="km", causes=causes)


def test_slack_of_withdrawals_grows_with_the_number_of_lives() -> None:
    many = 1_000_000
    rows = {"entered": [many, 0, 0], "failed": [[0, 0, 0]], "corrected": [[0.0, 0.0, 0.0]]}
    slack = COUNT_SLACK * many
    assert table(**rows, withdrawn=[0, 0, many + slack / 2]).n == many
    with pytest.raises(ValueError, match="more lives fail or leave"):
        table(**rows, withdrawn=[0, 0, many + 2 * slack])


def test_slack_of_corrected_failures_grows_with_their_number() -> None:
    many = 1000
    rows = {"entered": [many, 0, 0], "failed": [[0, many, 0]], "withdrawn": [0.0, 0.0, 0.0]}
    slack = COUNT_SLACK * many
    assert table(**rows, corrected=[[0, many - slack / 2, 0]]).failed_total == many
    with pytest.raises(ValueError, match="never below `failed`"):
        table(**rows, corrected=[[0, many - 2 * slack, 0]])

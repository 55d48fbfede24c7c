"""Which groups can be held against each other."""

import pytest

from garage.lifetimes.comparison.alike import refuse_unlike
from garage.lifetimes.risk_table import LivesArrays, RiskTable


def table(unit: str = "km", causes: tuple[str, ...] = ("failed",)) -> RiskTable:
    return RiskTable.from_lives(LivesArrays([0, 0], [5, 8], [1, 0]), unit=unit, causes=causes)


@pytest.mark.parametrize("sizes", [[2], [3], [2, 2], [3, 3, 3]])
def test_as_many_groups_in_every_stratum_are_taken(sizes: list[int]) -> None:
    refuse_unlike([[table() for _ in range(size)] for size in sizes])


@pytest.mark.parametrize("sizes", [[], [0], [1], [1, 1], [2, 3], [3, 2], [2, 2, 1]])
def test_too_few_groups_and_unlike_numbers_of_them_are_refused(sizes: list[int]) -> None:
    with pytest.raises(ValueError, match="two or more groups, as many in every stratum; got"):
        refuse_unlike([[table() for _ in range(size)] for size in sizes])


@pytest.mark.parametrize("other", [table("days"), table(causes=("failed", "other end"))])
@pytest.mark.parametrize("place", [(0, 1), (1, 0), (1, 1)])
def test_unlike_clocks_and_causes_are_refused_wherever_they_stand(
    other: RiskTable, place: tuple[int, int]
) -> None:
    strata = [[table(), table()], [table(), table()]]
    strata[place[0]][place[1]] = other
    rule = f"one clock with the same causes; got km .* and {other.unit}"
    with pytest.raises(ValueError, match=rule):
        refuse_unlike(strata)

"""Where a curve hangs on too few."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.curves.thin_places import thin_places

ROWS = st.lists(st.tuples(st.integers(0, 5), st.booleans()), max_size=12)


def one_by_one(at_risk: list[int], failing: list[bool], smallest: int) -> list[int]:
    """The rule of the docstring, row by row."""
    found = []
    for row, number in enumerate(at_risk):
        later = at_risk[row + 1 :]
        thin = failing[row] and number < smallest and max(later, default=0) >= smallest
        emptied = bool(later) and later[0] <= 0 and sum(at_risk[: row + 1]) > 0
        if thin or emptied:
            found.append(10 * row)
    return found


@given(ROWS, st.integers(1, 5))
def test_places_equal_the_rule_row_by_row(rows: list[tuple[int, bool]], smallest: int) -> None:
    at_risk, failing = [row[0] for row in rows], [row[1] for row in rows]
    places = thin_places(
        10 * np.arange(len(rows)),
        np.array(at_risk, float),
        np.array(failing, bool),
        smallest=smallest,
        start=-1,
    )
    assert places == one_by_one(at_risk, failing, smallest)


def test_places_up_to_the_start_do_not_count() -> None:
    clock, at_risk = np.array([5, 8, 90]), np.array([2.0, 1.0, 30.0])
    failing = np.array([True, True, True])
    assert thin_places(clock, at_risk, failing, smallest=10, start=0) == [5, 8]
    assert thin_places(clock, at_risk, failing, smallest=10, start=5) == [8]

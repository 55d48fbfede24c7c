"""How far the line on a probability plot is drawn."""

import pytest

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.laws.probability_plot import ROOM, probability_plot
from tests.lifetimes.conftest import table_of


@pytest.mark.parametrize("family", list(FAMILIES))
def test_line_goes_from_before_the_first_point_to_beyond_the_last(family: FamilyName) -> None:
    table = table_of([10, 15, 22, 35, 50, 51], [1, 1, 0, 1, 1, 0])
    plot = probability_plot(product_limit(table), law_fit(table, family=family))
    assert plot.line is not None
    first, last = plot.points.clock_place[0], plot.points.clock_place[-1]
    room = ROOM * (last - first)
    assert plot.line.clock_place[-1] == pytest.approx(last + room)
    assert plot.line.clock_place[0] <= first
    assert plot.line.clock_place[0] == pytest.approx(first - room)

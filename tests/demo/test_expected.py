"""*Expected* on the demo's written truth, beside *seen* and *presumed*.

Held are the six groups at 50 000 to 200 000 km. They are not independent: the places of one group
share its lives, and all share the capture share, which comes out too high in this seed
(docs/demo.md).
"""

import pytest

from garage.outcomes.choices import Curve
from tests.demo.survival import (
    Compared,
    errors_of,
    nearest,
    reached_by_all,
    spread,
    survival_compared,
)
from tests.demo.world import Found

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def compared(found: Found) -> list[Compared]:
    return survival_compared(found)


def test_its_limits_hold_the_truth_at_every_place(compared: list[Compared]) -> None:
    assert len(compared) >= 22
    missed = [(each.group, each.km) for each in compared if not each.holds(Curve.EXPECTED)]
    assert missed == []


def test_it_lies_between_seen_and_presumed(compared: list[Compared]) -> None:
    for each in reached_by_all(compared):
        expected, seen, presumed = (each.figures[curve].value for curve in Curve)
        assert expected is not None
        assert seen is not None
        assert presumed is not None
        assert seen <= expected <= presumed, (each.group, each.km)


def test_its_error_is_smaller_than_that_of_seen_and_of_presumed(compared: list[Compared]) -> None:
    # Measured: 0.04, 0.05 and 0.15.
    places = reached_by_all(compared)
    errors = {curve: spread(errors_of(places, curve)) for curve in Curve}
    assert errors[Curve.EXPECTED] < 0.9 * errors[Curve.SEEN]
    assert errors[Curve.EXPECTED] < 0.4 * errors[Curve.PRESUMED]


def test_it_comes_nearest_to_the_truth_at_most_places(compared: list[Compared]) -> None:
    # Measured: 12 of 23. Presumed is nearest nowhere.
    assert nearest(compared, Curve.EXPECTED) > len(compared) / 2
    assert nearest(compared, Curve.PRESUMED) == 0


def test_how_fast_customers_leave_is_found_again(found: Found) -> None:
    # Written: 10, 14 and 18 % a year. One in ten says so, and is no silent one; others stay away
    # after a repair elsewhere. A fleet never leaves itself.
    leaving = {each.organisation: each for each in found.report.visits}
    for code, written in found.told["written"]["leaving_a_year"].items():
        told = leaving[code]
        assert told.leaving_a_year is not None
        if written == 0:
            assert told.leaving_a_year < 0.005
            continue
        assert told.leaving_a_year == pytest.approx(written, abs=0.035)

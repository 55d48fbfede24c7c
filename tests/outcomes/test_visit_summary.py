"""What *expected* rests on, told in figures."""

import pytest

from garage.outcomes.terminal.part_life import visits_lines
from garage.outcomes.visit_summary import VisitSummary, visit_summaries
from garage.outcomes.visits import Visits, visits_follow
from garage.records.models import Organisation
from tests.outcomes.customers import Customers, facts_of

ALDER, BIRCH = Organisation(pk=1, code="alder"), Organisation(pk=2, code="birch")


def told(visits: Visits) -> list[VisitSummary]:
    return list(visit_summaries(visits, [ALDER, BIRCH]))


def test_a_law_is_told_in_days_and_shares_with_the_vehicles_behind_it() -> None:
    vehicles = Customers(leaving_a_year=0.15).vehicles(400)
    (found,) = told(visits_follow(facts_of(*vehicles), []))
    assert (found.organisation, found.vehicles) == ("alder", 400)
    assert (found.n, found.of_all) == (400, False)
    assert found.gap_days == pytest.approx(300, rel=0.15)
    assert found.leaving_a_year is not None
    assert found.leaving_a_year_lower is not None
    assert found.leaving_a_year_upper is not None
    # 15 % a year as a rate: 1 - exp(-0.15) leave within the first.
    assert found.leaving_a_year_lower < 0.139 < found.leaving_a_year_upper
    assert found.leaving_a_year_lower < found.leaving_a_year < found.leaving_a_year_upper
    assert found.still_customers is not None
    assert 0.3 < found.still_customers < 0.7
    assert (found.status, found.reason) == ("ok", "")


def test_a_borrowed_law_is_said_to_be_that_of_all() -> None:
    many, few = Customers().vehicles(80), Customers(seed=9).vehicles(5, first=500, organisation=2)
    alder, birch = told(visits_follow(facts_of(*many, *few), []))
    assert (alder.of_all, birch.of_all) == (False, True)
    assert (birch.vehicles, birch.n) == (5, 85)
    lines = list(visits_lines([vars_of(alder), vars_of(birch)]))
    assert lines[1].endswith("are held to be customers still; learnt from all in view.")
    assert "all in view" not in lines[0]


def test_without_a_law_there_are_no_figures_but_the_reason() -> None:
    (found,) = told(visits_follow(facts_of(*Customers().vehicles(5)), []))
    assert (found.gap_days, found.leaving_a_year, found.still_customers) == (None, None, None)
    assert (found.status, found.vehicles) == ("few_clusters", 5)
    assert "20 are needed" in found.reason
    assert list(visits_lines([vars_of(found)])) == []


def test_an_organisation_without_vehicles_is_left_out() -> None:
    assert told(visits_follow(facts_of(), [])) == []


def vars_of(summary: VisitSummary) -> dict[str, object]:
    return {name: getattr(summary, name) for name in summary.__dataclass_fields__}

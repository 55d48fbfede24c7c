"""Which days are visits, what the model is told of each vehicle, and whose law holds for it."""

import numpy as np
import pytest

from garage.lifetimes.status import Status
from garage.lifetimes.visits.silence import still_customer
from garage.outcomes.facts import VehicleFacts
from garage.outcomes.lives import Life, Silence
from garage.outcomes.visits import OrganisationVisits, visits_follow
from tests.outcomes.customers import RECORDS_DAYS, Customers, day, facts_of, part, vehicle
from tests.outcomes.worlds import life

SILENT = Silence(from_km=50_000, days=400, km_a_day=50.0)


def known_of(*vehicles: VehicleFacts, lives: tuple[Life, ...] = ()) -> OrganisationVisits:
    return visits_follow(facts_of(*vehicles), lives).by_organisation[1]


def test_days_with_jobs_are_visits_counted_from_the_first() -> None:
    known = known_of(vehicle(1, [100, 400, 460])).known
    assert (known.repeats[0], known.last_visit[0]) == (2, 360)
    assert known.watched_until[0] == RECORDS_DAYS - 100
    assert known.log_gaps[0] == pytest.approx(np.log(300) + np.log(60))


def test_two_jobs_of_one_day_are_one_visit() -> None:
    known = known_of(vehicle(1, [100, 100, 400, 400])).known
    assert (known.repeats[0], known.last_visit[0]) == (1, 300)


def test_a_failure_of_this_part_is_no_visit_but_shows_that_the_vehicle_was_here() -> None:
    van = vehicle(1, [100, 400, 520])
    van.fitments.append(part(7, removed_at=102))
    failed = life(60_000, failed=True, fitment_id=7, vehicle_id=1)
    visits = known_of(van, lives=(failed,))
    assert (visits.known.repeats[0], visits.known.last_visit[0]) == (1, 300)
    assert visits.here_days[1] == 120
    # Taken out sound by the same job, it tells of a visit like any other.
    removed = life(60_000, fitment_id=7, vehicle_id=1)
    visits = known_of(van, lives=(removed,))
    assert (visits.known.repeats[0], visits.here_days[1]) == (2, 0)


def test_the_first_job_begins_the_clock_whatever_it_was_for() -> None:
    van = vehicle(1, [100, 400])
    van.fitments.append(part(7, removed_at=100))
    visits = known_of(van, lives=(life(60_000, failed=True, fitment_id=7, vehicle_id=1),))
    assert (visits.known.repeats[0], visits.known.last_visit[0]) == (1, 300)


def test_a_vehicle_known_to_be_gone_is_watched_to_that_day() -> None:
    known = known_of(vehicle(1, [100, 400, 900], ended_on=day(700))).known
    assert (known.repeats[0], known.last_visit[0], known.watched_until[0]) == (1, 300, 600)


def test_a_vehicle_without_a_job_has_no_visits() -> None:
    assert visits_follow(facts_of(vehicle(1, [])), []).by_organisation == {}
    visits = known_of(vehicle(1, []), vehicle(2, [100]))
    assert (visits.row, visits.known.n) == ({2: 0}, 1)


def test_vehicles_of_one_organisation_have_rows_of_their_own() -> None:
    facts = facts_of(vehicle(1, [5]), vehicle(2, [5, 50], organisation=2), vehicle(3, [5, 70]))
    visits = visits_follow(facts, []).by_organisation
    assert (visits[1].row, visits[2].row) == ({1: 0, 3: 1}, {2: 0})
    assert visits[1].known.last_visit.tolist() == [0, 65]


# --- the law ---


def test_a_written_law_of_coming_and_leaving_is_found_again() -> None:
    vehicles = Customers(leaving_a_year=0.15).vehicles(600)
    visits = visits_follow(facts_of(*vehicles), []).by_organisation[1]
    law = visits.fit.law
    assert law is not None
    assert 1 / law.visit_rate == pytest.approx(300, rel=0.15)
    assert law.regularity == pytest.approx(4, rel=0.2)
    leaving = visits.fit.parameter("leaving_rate")
    assert leaving is not None
    assert leaving.lower is not None
    assert leaving.upper is not None
    assert leaving.lower < 0.15 / 365.25 < leaving.upper
    # Who came last month is still a customer; who has been away for years mostly is not.
    still = still_customer(law, visits.known)
    assert still[visits.known.silence < 30].min() > 0.9
    assert still[visits.known.silence > 1_500].max() < 0.2


def test_too_few_vehicles_take_the_law_of_all_in_view() -> None:
    many, few = Customers().vehicles(80), Customers(seed=9).vehicles(5, first=500, organisation=2)
    visits = visits_follow(facts_of(*many, *few), []).by_organisation
    assert visits[1].fit.law is not None
    assert visits[2].fit.law is not None
    assert (visits[1].of_all, visits[2].of_all) == (False, True)
    assert (visits[1].fit.weight.sum(), visits[2].fit.weight.sum()) == (80, 85)
    assert visits[2].known.n == 5


def test_enough_vehicles_keep_a_law_of_their_own() -> None:
    loyal = Customers(leaving_a_year=0.02).vehicles(80)
    fickle = Customers(leaving_a_year=0.6).vehicles(80, first=500, organisation=2)
    visits = visits_follow(facts_of(*loyal, *fickle), []).by_organisation
    laws = [visits[each].fit.law for each in (1, 2)]
    assert laws[0] is not None
    assert laws[1] is not None
    assert laws[0].leaving_rate < laws[1].leaving_rate / 3


def test_without_a_law_anywhere_it_says_why() -> None:
    visits = visits_follow(facts_of(*Customers().vehicles(5)), [])
    why = visits.without_law([life(50_000, silence=SILENT)])
    assert why is not None
    assert why.status is Status.FEW_CLUSTERS
    assert "vehicles came again; 20 are needed" in why.reason


def test_where_nobody_is_silent_no_law_is_needed() -> None:
    visits = visits_follow(facts_of(*Customers().vehicles(5)), [])
    assert visits.without_law([life(50_000, failed=True), life(50_000)]) is None


def test_one_organisation_without_a_law_is_named_apart_from_the_others() -> None:
    visits = visits_follow(facts_of(*Customers().vehicles(80)), [])
    lives = [life(50_000, silence=SILENT), life(50_000, organisation_id=2)]
    assert visits.unjudged(lives) == set()
    assert visits.without_law(lives) is None

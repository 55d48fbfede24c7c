"""Looks taken and missing, organisation by organisation."""

from datetime import date

import pytest

from garage.outcomes.capture import capture_of_failures
from garage.outcomes.lives import lives_follow
from garage.outcomes.looks import Looks, looks_counted
from garage.outcomes.usage import Odometers
from garage.records.models import Organisation
from tests.outcomes.histories import History, done, facts, inspected, replaced
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

AS_OF = date(2022, 1, 1)


def counted(organisation: Organisation) -> Looks:
    read = facts(as_of=AS_OF)
    lives = lives_follow(read, Odometers(read))
    return looks_counted(read, lives, capture_of_failures(read, lives))[organisation.pk]


@pytest.fixture
def workshop() -> Organisation:
    return OrganisationFactory()


def failed(workshop: Organisation) -> History:
    """A factory part that failed and was replaced here in 2018."""
    van = History(workshop, watched_from_new=True)
    van.job("2018-01-01", 80_000, ops=[replaced("failed")])
    return van


def test_visits_of_the_last_year_are_counted_and_those_looked_at(workshop: Organisation) -> None:
    van = History(workshop, watched_from_new=True)
    van.service("2020-12-31", 60_000, ops=[inspected(found="same")])
    van.service("2021-01-01", 60_500, ops=[inspected(found="same")])
    van.service("2021-06-01", 70_000, ops=[inspected(found="same")])
    van.service("2021-09-01", 75_000)
    looks = counted(workshop)
    assert looks.since == date(2021, 1, 1)
    assert (looks.visits, looks.looked) == (2, 1)


def test_visit_that_exchanged_the_part_is_no_chance_to_look(workshop: Organisation) -> None:
    van = History(workshop, watched_from_new=True)
    van.job("2021-06-01", 70_000, ops=[replaced("failed")])
    assert (counted(workshop).visits, counted(workshop).looked) == (0, 0)


def test_visit_about_the_system_is_no_chance_to_look(workshop: Organisation) -> None:
    van = History(workshop, watched_from_new=True)
    van.job("2021-06-01", 70_000, ops=[inspected(found="same"), done("repair")])
    assert (counted(workshop).visits, counted(workshop).looked) == (0, 0)


def test_failure_whose_vehicle_came_again_unlooked_at_is_missed(workshop: Organisation) -> None:
    failed(workshop).service("2019-01-01", 100_000)
    looks = counted(workshop)
    assert looks.missed == 1
    assert looks.worth.now.here == 0
    assert looks.worth.with_all.here == 1


def test_failure_looked_at_again_is_not_missed(workshop: Organisation) -> None:
    van = failed(workshop)
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    assert counted(workshop).missed == 0


def test_failure_whose_vehicle_never_came_again_is_not_missed(workshop: Organisation) -> None:
    failed(workshop)
    assert counted(workshop).missed == 0


def test_visit_about_the_same_system_gives_no_chance(workshop: Organisation) -> None:
    failed(workshop).job("2019-01-01", 100_000, ops=[done("repair")])
    assert counted(workshop).missed == 0


def test_part_that_was_not_known_before_it_came_out_is_not_missed(workshop: Organisation) -> None:
    van = History(workshop)
    van.job("2018-01-01", 80_000, ops=[replaced("failed")])
    van.service("2019-01-01", 100_000)
    assert counted(workshop).missed == 0


def test_each_organisation_has_its_own(workshop: Organisation) -> None:
    other = OrganisationFactory()
    failed(workshop).service("2019-01-01", 100_000)
    van = History(other, watched_from_new=True)
    van.service("2021-06-01", 70_000)
    assert (counted(workshop).missed, counted(other).missed) == (1, 0)
    assert (counted(workshop).visits, counted(other).visits) == (0, 1)

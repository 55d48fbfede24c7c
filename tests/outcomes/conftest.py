"""A small region that the tests of reports, their wire form and the commands share."""

from dataclasses import dataclass

import pytest

from garage.records.models import Organisation
from tests.outcomes.histories import (
    EXHAUST,
    History,
    cleaned,
    done,
    inspected,
    replaced,
    settle,
)
from tests.records.factories import EngineFamilyFactory, OrganisationFactory


@dataclass(frozen=True)
class Region:
    """A workshop with a vehicle that fails again and again, and a fleet that sees all."""

    workshop: Organisation
    fleet: Organisation
    ruined: History


@pytest.fixture
def region(db: None) -> Region:
    workshop = OrganisationFactory(code="alder-yard")
    fleet = OrganisationFactory(code="birch-fleet", sees_all_repairs=True)
    alder = EngineFamilyFactory(name="Alder 16")
    birch = EngineFamilyFactory(name="Birch 20")
    for number in range(6):
        sound = History(workshop, engine_family=alder, first_used_on="2012-01-01")
        sound.service("2015-01-05", 50_000 + number, ops=[inspected("factory")])
        sound.job("2016-01-05", 70_000, ops=[done("regenerate_driving")], repaired_elsewhere=[])
        sound.service("2018-01-05", 110_000, ops=[inspected(found="same")])
    for _ in range(4):
        van = History(fleet, engine_family=birch, first_used_on="2012-01-01", watched_from_new=True)
        van.service("2014-01-05", 60_000)
        van.job("2017-01-05", 150_000, ops=[cleaned("failed")])
        van.service("2018-01-05", 170_000)
    ruined = History(
        workshop,
        ref="Van 7",
        engine_family=alder,
        first_used_on="2012-01-01",
    )
    ruined.service("2015-01-05", 50_000, ops=[inspected("factory")])
    ruined.job("2016-01-05", 60_000, ops=[replaced("failed"), done("clear_codes")])
    ruined.job("2016-02-05", 62_000, ops=[replaced("failed")], repaired_elsewhere=[EXHAUST])
    ruined.job("2016-04-05", 65_000, ops=[replaced("failed")])
    settle()
    return Region(workshop, fleet, ruined)

"""Pairs are found in the records of one organisation, and not again once decided."""

from datetime import UTC, date, datetime

import pytest

from garage.records.duplicates.find import jobs_possibly_one, vehicles_possibly_one
from garage.records.services.merge import not_duplicate
from tests.records.factories import (
    JobFactory,
    OperationFactory,
    OrganisationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def test_vehicles_of_two_organisations_are_never_a_pair() -> None:
    organisation = OrganisationFactory()
    one = VehicleFactory(organisation=organisation, vin="0ABTEST0000012345", engine_family=None)
    VehicleFactory(vin="0A8TEST0000012345", engine_family=None)
    assert vehicles_possibly_one(organisation=organisation) == []
    two = VehicleFactory(organisation=organisation, vin="0A8TEST0000012345", engine_family=None)
    (pair,) = vehicles_possibly_one(organisation=organisation)
    assert (pair.one_id, pair.other_id) == (one.pk, two.pk)


def test_pair_a_person_holds_to_be_two_is_not_proposed_again() -> None:
    organisation = OrganisationFactory()
    one, two = (
        VehicleFactory(organisation=organisation, vin=vin, engine_family=None)
        for vin in ("0ABTEST0000012345", "0A8TEST0000012345")
    )
    for ids in ((two.pk, one.pk), (one.pk, two.pk)):
        not_duplicate(organisation=organisation, thing="vehicle", ids=ids, at=AT)
    assert vehicles_possibly_one(organisation=organisation) == []


def test_jobs_written_twice_are_found() -> None:
    vehicle = VehicleFactory()
    day = date(2024, 5, 6)
    jobs = [JobFactory(vehicle=vehicle, opened_on=day, complaint="lamp on") for _ in range(2)]
    for job in jobs:
        OperationFactory(job=job, kind="replace", part_named="hose")
    (pair,) = jobs_possibly_one(organisation=vehicle.organisation)
    assert (pair.one_id, pair.other_id) == (jobs[0].pk, jobs[1].pk)

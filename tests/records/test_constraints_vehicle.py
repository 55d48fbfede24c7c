"""What the database refuses of vehicles and registration marks."""

from datetime import date

import pytest

from garage.records.choices import Duty, EndedBecause
from tests.records.constraints import refused_by
from tests.records.factories import (
    OrganisationFactory,
    RegistrationMarkFactory,
    VehicleFactory,
    invented_vin,
)

pytestmark = pytest.mark.django_db

FIRST_USE = date(2018, 3, 1)
DAY_BEFORE = date(2018, 2, 28)


def test_vehicle_ref_once_per_organisation() -> None:
    alder, birch = OrganisationFactory(), OrganisationFactory()
    VehicleFactory(organisation=alder, ref="V1")
    VehicleFactory(organisation=birch, ref="V1")
    with refused_by("vehicle_ref_once_per_organisation"):
        VehicleFactory(organisation=alder, ref="V1")


def test_vehicle_vin_once_per_organisation() -> None:
    alder, birch = OrganisationFactory(), OrganisationFactory()
    VehicleFactory(organisation=alder, vin=invented_vin(1))
    VehicleFactory(organisation=birch, vin=invented_vin(1))
    with refused_by("vehicle_vin_once_per_organisation"):
        VehicleFactory(organisation=alder, vin=invented_vin(1))


def test_vehicle_without_vin_is_no_repetition() -> None:
    alder = OrganisationFactory()
    VehicleFactory(organisation=alder, vin="")
    VehicleFactory(organisation=alder, vin="")


def test_vehicle_ref_given() -> None:
    VehicleFactory(ref="-")
    with refused_by("vehicle_ref_given"):
        VehicleFactory(ref="")


@pytest.mark.parametrize("fault", ["I", "O", "Q", "a", " ", "-", ""])
def test_vehicle_vin_iso_3779_characters(fault: str) -> None:
    sound = invented_vin(1)
    VehicleFactory(vin=sound)
    with refused_by("vehicle_vin_iso_3779_characters"):
        VehicleFactory(vin=sound[:-1] + fault)


@pytest.mark.parametrize(
    ("first_used_on", "ended_on"),
    [(FIRST_USE, FIRST_USE), (FIRST_USE, None), (None, DAY_BEFORE), (None, None)],
)
def test_vehicle_ended_not_before_first_use(
    first_used_on: date | None, ended_on: date | None
) -> None:
    VehicleFactory(first_used_on=first_used_on, ended_on=ended_on)
    with refused_by("vehicle_ended_not_before_first_use"):
        VehicleFactory(first_used_on=FIRST_USE, ended_on=DAY_BEFORE)


@pytest.mark.parametrize("because", EndedBecause.values)
def test_vehicle_end_reason_has_date(because: str) -> None:
    VehicleFactory(ended_because=because, ended_on=FIRST_USE)
    VehicleFactory(ended_because="", ended_on=FIRST_USE)
    with refused_by("vehicle_end_reason_has_date"):
        VehicleFactory(ended_because=because, ended_on=None)


@pytest.mark.parametrize("duty", ["", *Duty.values])
def test_vehicle_duty_known(duty: str) -> None:
    VehicleFactory(duty=duty)
    with refused_by("vehicle_duty_known"):
        VehicleFactory(duty="racing")


def test_registration_mark_one_current() -> None:
    vehicle = VehicleFactory()
    RegistrationMarkFactory(vehicle=vehicle, until_on=None)
    RegistrationMarkFactory(vehicle=vehicle, until_on=FIRST_USE)
    RegistrationMarkFactory(vehicle=vehicle, until_on=FIRST_USE)
    with refused_by("registration_mark_one_current"):
        RegistrationMarkFactory(vehicle=vehicle, until_on=None)


def test_registration_mark_may_pass_to_another_vehicle() -> None:
    RegistrationMarkFactory(mark="QX 1", until_on=FIRST_USE)
    RegistrationMarkFactory(mark="QX 1", from_on=FIRST_USE)


@pytest.mark.parametrize(
    ("from_on", "until_on"), [(FIRST_USE, FIRST_USE), (None, DAY_BEFORE), (FIRST_USE, None)]
)
def test_registration_mark_until_not_before_from(
    from_on: date | None, until_on: date | None
) -> None:
    RegistrationMarkFactory(from_on=from_on, until_on=until_on)
    with refused_by("registration_mark_until_not_before_from"):
        RegistrationMarkFactory(from_on=FIRST_USE, until_on=DAY_BEFORE)


def test_registration_mark_given() -> None:
    RegistrationMarkFactory(mark="Q")
    with refused_by("registration_mark_given"):
        RegistrationMarkFactory(mark="-")

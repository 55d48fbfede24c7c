"""Vehicles added and changed by hand, their marks and their keepers."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, EngineFamily, Keeper, Organisation, Vehicle
from garage.records.services.vehicles import (
    KeeperFacts,
    VehicleFacts,
    keeper_set,
    registration_change,
    vehicle_add,
    vehicle_change,
)
from tests.records.factories import (
    EngineFamilyFactory,
    OrganisationFactory,
    VehicleFactory,
    invented_vin,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
FACTS = VehicleFacts("V 7", vin=invented_vin(7), engine_family="Alder 16", duty="town")


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def test_a_vehicle_added_is_found_by_its_mark(organisation: Organisation) -> None:
    family = EngineFamilyFactory(name="Alder 16")
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, mark="qx 12-34", at=AT)
    assert (vehicle.engine_family, vehicle.marks.get().mark_key) == (family, "QX1234")
    assert AuditEntry.objects.get(thing="vehicle").verb == "add"


def test_a_family_not_known_is_kept_for_review(organisation: Organisation) -> None:
    facts = replace(FACTS, engine_family="Rowan  22")
    vehicle_add(organisation=organisation, facts=facts, at=AT)
    assert EngineFamily.objects.get(name="Rowan 22").reviewed is False


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"ref": " "}, "ref"),
        ({"ref": "taken"}, "ref"),
        ({"vin": "SHORT"}, "vin"),
        ({"vin": invented_vin(1)}, "vin"),
        ({"duty": "racing"}, "duty"),
        ({"first_used_on": date(2030, 1, 1)}, "first_used_on"),
        ({"ended_because": "sold"}, "ended_on"),
        ({"first_used_on": date(2020, 1, 1), "ended_on": date(2019, 1, 1)}, "ended_on"),
    ],
)
def test_what_cannot_be_is_refused(organisation: Organisation, changed: dict, column: str) -> None:
    VehicleFactory(organisation=organisation, ref="taken", vin=invented_vin(1))
    with pytest.raises(RuleBroken) as refused:
        vehicle_add(organisation=organisation, facts=replace(FACTS, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert Vehicle.objects.count() == 1


@pytest.mark.parametrize("mark", ["--", "x" * 21])
def test_a_mark_that_is_none_is_refused(organisation: Organisation, mark: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        vehicle_add(organisation=organisation, facts=FACTS, mark=mark, at=AT)
    assert refused.value.column == "mark"


def test_another_organisation_may_know_the_same_vehicle(organisation: Organisation) -> None:
    vehicle_add(organisation=OrganisationFactory(), facts=FACTS, at=AT)
    vehicle_add(organisation=organisation, facts=FACTS, at=AT)


def test_a_change_says_what_changed_but_nothing_personal(organisation: Organisation) -> None:
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, at=AT)
    facts = replace(FACTS, vin=invented_vin(8), duty="motorway")
    vehicle_change(vehicle=vehicle, facts=facts, at=AT)
    changes = AuditEntry.objects.latest("serial").changes
    assert changes["duty"] == ["town", "motorway"]
    assert invented_vin(8) not in str(changes["vin"])
    before = AuditEntry.objects.count()
    vehicle_change(vehicle=vehicle, facts=facts, at=AT)
    assert AuditEntry.objects.count() == before


# --- Marks ---


def test_a_former_mark_stays_findable(organisation: Organisation) -> None:
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, mark="QX 1", at=AT)
    registration_change(vehicle=vehicle, mark="qx 2", from_on=date(2026, 2, 1), at=AT)
    told = list(vehicle.marks.values_list("mark", "from_on", "until_on"))
    assert told == [("QX 1", None, date(2026, 2, 1)), ("QX 2", date(2026, 2, 1), None)]


@pytest.mark.parametrize(
    ("mark", "from_on", "column"),
    [
        ("QX-2", date(2026, 3, 1), "mark"),
        ("QX 3", date(2026, 1, 31), "from_on"),
        ("QX 3", date(2027, 1, 1), "from_on"),
    ],
)
def test_a_mark_follows_the_one_before(
    organisation: Organisation, mark: str, from_on: date, column: str
) -> None:
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, at=AT)
    registration_change(vehicle=vehicle, mark="QX 2", from_on=date(2026, 2, 1), at=AT)
    with pytest.raises(RuleBroken) as refused:
        registration_change(vehicle=vehicle, mark=mark, from_on=from_on, at=AT)
    assert refused.value.column == column
    assert vehicle.marks.count() == 1


# --- Keepers ---


def test_another_keeper_follows_the_first(organisation: Organisation) -> None:
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, at=AT)
    keeper_set(vehicle=vehicle, keeper=KeeperFacts("A. Keeper", phone="1"), at=AT)
    keeper_set(vehicle=vehicle, keeper=KeeperFacts("a. keeper", phone="2"), at=AT)
    keeper_set(vehicle=vehicle, keeper=KeeperFacts("B. Keeper"), at=AT)
    told = list(Keeper.objects.values_list("name", "phone", "from_on", "until_on"))
    assert told == [
        ("a. keeper", "2", None, AT.date()),
        ("B. Keeper", "", AT.date(), None),
    ]


@pytest.mark.parametrize(
    ("keeper", "column"),
    [
        (KeeperFacts(" "), "name"),
        (KeeperFacts("C. Keeper", email="nowhere"), "email"),
        (KeeperFacts("C. Keeper", from_on=date(2025, 12, 31)), "from_on"),
        (KeeperFacts("C. Keeper", from_on=date(2027, 12, 31)), "from_on"),
    ],
)
def test_a_keeper_that_cannot_be_is_refused(
    organisation: Organisation, keeper: KeeperFacts, column: str
) -> None:
    vehicle = vehicle_add(organisation=organisation, facts=FACTS, at=AT)
    first = KeeperFacts("A. Keeper", from_on=date(2026, 1, 1))
    keeper_set(vehicle=vehicle, keeper=first, at=AT)
    with pytest.raises(RuleBroken) as refused:
        keeper_set(vehicle=vehicle, keeper=keeper, at=AT)
    assert refused.value.column == column
    assert Keeper.objects.count() == 1

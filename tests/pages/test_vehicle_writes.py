"""Vehicles added and changed on the pages."""

import pytest
from django.test import Client

from garage.records.models import Keeper, RegistrationMark, Vehicle
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of

NEW = {"ref": "V 99", "mark": "qx 99", "vin": "", "engine_family": "Alder 16"}


def test_a_vehicle_not_found_is_offered_to_be_added(scene: Scene, technician: Client) -> None:
    page = technician.get("/?q=qx+99").content.decode()
    assert "/vehicles/new/?mark=qx%2099" in page
    assert 'value="QX 99"' in technician.get("/vehicles/new/?mark=qx+99").content.decode()


def test_a_vehicle_is_added_to_ones_own_organisation(scene: Scene, technician: Client) -> None:
    said = NEW | {"organisation": scene.cast.alder.pk}
    assert technician.post("/vehicles/new/", said).status_code == 302
    vehicle = Vehicle.objects.get(ref="V 99")
    assert (vehicle.organisation, vehicle.engine_family) == (scene.cast.alder, scene.family)
    again = technician.post("/vehicles/new/", said)
    assert "one reference names one vehicle" in text_of(again)


@pytest.mark.parametrize("whose", ["birch", "nobody"])
def test_a_vehicle_is_not_added_to_anothers(scene: Scene, technician: Client, whose: str) -> None:
    pk = scene.cast.birch.pk if whose == "birch" else 10**6
    answer = technician.post("/vehicles/new/", NEW | {"organisation": pk})
    assert answer.status_code == 200
    assert not Vehicle.objects.filter(ref="V 99").exists()


def test_a_viewer_adds_and_changes_nothing(scene: Scene, alder: Client) -> None:
    said = NEW | {"organisation": scene.cast.alder.pk}
    assert alder.post("/vehicles/new/", said).status_code == 403
    assert alder.get(f"/vehicles/{scene.van.pk}/facts/").status_code == 403
    assert alder.post(f"/vehicles/{scene.van.pk}/facts/keeper/").status_code == 403


def test_facts_registration_and_keeper_are_changed(scene: Scene, technician: Client) -> None:
    page = f"/vehicles/{scene.van.pk}/facts/"
    facts = {"facts-ref": scene.van.ref, "facts-duty": "taxi", "facts-engine_family": "alder 16"}
    technician.post(f"{page}facts/", facts)
    technician.post(f"{page}mark/", {"mark-mark": "QX 98", "mark-from_on": "2026-01-05"})
    technician.post(f"{page}keeper/", {"keeper-name": "A. Keeper", "keeper-phone": "12"})
    scene.van.refresh_from_db()
    assert (scene.van.duty, scene.van.engine_family) == ("taxi", scene.family)
    assert RegistrationMark.objects.get(vehicle=scene.van, until_on=None).mark == "QX 98"
    assert Keeper.objects.get().phone == "12"
    told = text_of(technician.get(page))
    assert "A. Keeper, 12" in told
    assert "Who changed what" in told


def test_a_refused_change_says_why(scene: Scene, technician: Client) -> None:
    page = f"/vehicles/{scene.van.pk}/facts/"
    answer = technician.post(f"{page}mark/", {"mark-mark": "--", "mark-from_on": "2026-01-05"})
    assert "letters or digits" in text_of(answer)
    assert technician.post(f"{page}wishes/").status_code == 404


def test_anothers_vehicle_is_not_found(scene: Scene, client_of: ClientOf) -> None:
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"/vehicles/{scene.van.pk}/facts/").status_code == 404
    assert cedar.post(f"/vehicles/{scene.van.pk}/facts/keeper/").status_code == 404

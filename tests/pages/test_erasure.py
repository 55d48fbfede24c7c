"""An owner erases what a keeper asked for, and reads what went; nobody else does."""

from datetime import date

import pytest
from django.test import Client

from garage.outcomes.report import report_make
from garage.outcomes.wire import report_to_wire
from garage.records.models import AuditEntry, Erasure, Keeper, PartKind, Vehicle
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of


@pytest.fixture
def owner(scene: Scene, client_of: ClientOf) -> Client:
    Keeper.objects.create(vehicle=scene.van, name="Quince")
    return client_of(scene.cast.owner)


def figures(scene: Scene) -> dict:
    report = report_make(
        organisations=[scene.cast.alder],
        part_kind=PartKind.objects.get(code="particulate_filter"),
        as_of=date(2026, 1, 1),
    )
    return report_to_wire(report)


def test_owner_erases_and_reads_what_went(scene: Scene, owner: Client) -> None:
    facts = owner.get(f"/vehicles/{scene.van.pk}/facts/")
    assert f'href="/vehicles/{scene.van.pk}/erasure/"' in facts.content.decode()
    told = text_of(owner.get(f"/vehicles/{scene.van.pk}/erasure/"))
    assert "keepers: 1" in told
    before = figures(scene)
    answer = owner.post(f"/vehicles/{scene.van.pk}/erasure/", {"for_good": "on"}, follow=True)
    assert answer.redirect_chain == [(f"/organisations/{scene.cast.alder.pk}/erasures/", 302)]
    told = text_of(answer)
    assert "asked for" in told
    assert "keepers: 1" in told
    assert not Keeper.objects.exists()
    assert Vehicle.objects.get(pk=scene.van.pk).ref == f"erased-{scene.van.pk}"
    assert AuditEntry.objects.get(verb="erase").by == scene.cast.owner
    again = text_of(owner.get(f"/vehicles/{scene.van.pk}/erasure/"))
    assert "It was erased on" in again
    # A flag may name its vehicle by what is left of it; every figure is the same.
    assert without_names(figures(scene)) == without_names(before)


def without_names(told: object) -> object:
    if isinstance(told, dict):
        return {name: without_names(each) for name, each in told.items() if name not in NAMES}
    if isinstance(told, list):
        return [without_names(each) for each in told]
    return told


NAMES = {"vehicle_ref", "job_ref"}


def test_nothing_goes_without_the_tick(scene: Scene, owner: Client) -> None:
    told = text_of(owner.post(f"/vehicles/{scene.van.pk}/erasure/", {}))
    assert "cannot be brought back" in told
    assert Keeper.objects.exists()
    assert not Erasure.objects.exists()


@pytest.mark.parametrize("who", ["technician", "viewer"])
def test_others_are_refused(scene: Scene, owner: Client, client_of: ClientOf, who: str) -> None:
    client = client_of(getattr(scene.cast, who))
    for page in (
        f"/vehicles/{scene.van.pk}/erasure/",
        f"/organisations/{scene.cast.alder.pk}/erasures/",
    ):
        assert client.get(page).status_code == 403
    answer = client.post(f"/vehicles/{scene.van.pk}/erasure/", {"for_good": "on"})
    assert answer.status_code == 403
    assert not Erasure.objects.exists()


def test_technician_is_not_offered_it(scene: Scene, client_of: ClientOf) -> None:
    told = client_of(scene.cast.technician).get(f"/vehicles/{scene.van.pk}/facts/")
    assert "/erasure/" not in told.content.decode()


def test_vehicle_of_others_is_not_there(scene: Scene, owner: Client) -> None:
    page = f"/vehicles/{scene.birch_van.pk}/erasure/"
    assert owner.get(page).status_code == 404
    assert owner.post(page, {"for_good": "on"}).status_code == 404
    assert owner.get(f"/organisations/{scene.cast.birch.pk}/erasures/").status_code == 404


def test_organisation_without_erasures_says_so(scene: Scene, owner: Client) -> None:
    told = text_of(owner.get(f"/organisations/{scene.cast.alder.pk}/erasures/"))
    assert "Nothing has been erased yet" in told

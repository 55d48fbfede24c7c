"""Records that may be one, on the pages."""

import pytest
from django.test import Client

from garage.records.models import Merge, NotDuplicate, Vehicle
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of
from tests.records.factories import JobFactory, VehicleFactory


@pytest.fixture
def pair(scene: Scene) -> tuple[Vehicle, Vehicle]:
    one, other = (
        VehicleFactory(organisation=scene.cast.alder, ref=ref, vin=vin, engine_family=None)
        for ref, vin in (("twin A", "0ABTEST0000012345"), ("twin B", "0A8TEST0000012345"))
    )
    return one, other


def test_pair_is_listed_with_its_reasons(pair, technician: Client) -> None:
    told = text_of(technician.get("/duplicates/"))
    assert "twin A and twin B" in told
    assert "often misread" in told


def test_pair_is_merged_and_parted(pair, technician: Client) -> None:
    one, other = pair
    address = f"/duplicates/vehicle/{one.pk}/{other.pk}/"
    assert "One vehicle or two?" in text_of(technician.get(address))
    refused = technician.post(address, {"decision": "keep_one"})
    assert "merged for a reason" in text_of(refused)
    answer = technician.post(
        address, {"decision": "keep_other", "reason": "plate seen"}, follow=True
    )
    assert "Decided" in text_of(answer)
    assert Vehicle.objects.filter(pk__in=(one.pk, other.pk)).get() == other
    merge = Merge.objects.get()
    assert "They are two again" in text_of(
        technician.post(f"/merges/{merge.pk}/undo/", follow=True)
    )
    assert Vehicle.objects.filter(pk__in=(one.pk, other.pk)).count() == 2


def test_pair_held_to_be_two_is_not_shown_again(pair, technician: Client) -> None:
    one, other = pair
    technician.post(f"/duplicates/vehicle/{one.pk}/{other.pk}/", {"decision": "two"})
    assert NotDuplicate.objects.count() == 1
    assert "twin A" not in text_of(technician.get("/duplicates/"))


def test_jobs_side_by_side(scene: Scene, technician: Client) -> None:
    jobs = [JobFactory(vehicle=scene.van) for _ in range(2)]
    answer = technician.get(f"/duplicates/job/{jobs[0].pk}/{jobs[1].pk}/")
    assert "One visit or two?" in text_of(answer)


def test_pair_is_not_decided_by_who_may_only_look(pair, alder: Client) -> None:
    one, other = pair
    answer = alder.post(f"/duplicates/vehicle/{one.pk}/{other.pk}/", {"decision": "two"})
    assert answer.status_code == 403


@pytest.mark.parametrize("thing", ["vehicle", "engine"])
def test_pair_of_another_is_not_found(pair, scene: Scene, client_of: ClientOf, thing: str) -> None:
    one, other = pair
    who = "at_cedar" if thing == "vehicle" else "technician"
    client = client_of(getattr(scene.cast, who))
    assert client.get(f"/duplicates/{thing}/{one.pk}/{other.pk}/").status_code == 404


def test_merge_that_cannot_be_parted_says_why(pair, technician: Client) -> None:
    one, other = pair
    technician.post(
        f"/duplicates/vehicle/{one.pk}/{other.pk}/", {"decision": "keep_one", "reason": "x"}
    )
    address = f"/merges/{Merge.objects.get().pk}/undo/"
    technician.post(address)
    assert "a merge is undone once" in text_of(technician.post(address, follow=True))


def test_merge_of_another_is_not_parted(
    pair, technician: Client, scene: Scene, client_of: ClientOf
) -> None:
    one, other = pair
    technician.post(
        f"/duplicates/vehicle/{one.pk}/{other.pk}/", {"decision": "keep_one", "reason": "x"}
    )
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.post(f"/merges/{Merge.objects.get().pk}/undo/").status_code == 404

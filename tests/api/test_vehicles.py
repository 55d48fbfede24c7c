"""Vehicles found, read, and told from those of others."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from garage.records.models import Vehicle
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.factories import EngineFamilyFactory, RegistrationMarkFactory, VehicleFactory

VEHICLES = "/api/v1/vehicles/"


def refs(answer: Any) -> list[str]:
    return [row["ref"] for row in answer.json()["results"]]


@pytest.mark.parametrize("text", ["qz77kl", "QX 1234", "0ABTEST0000000012", "van 12", "77-K"])
def test_find_by_mark_vin_or_reference(scene: Scene, alder: APIClient, text: str) -> None:
    assert refs(alder.get(VEHICLES, {"find": text})) == ["Van 12"]


@pytest.mark.parametrize("text", ["QZ78KL", "QB 7777", "B1"])
def test_find_finds_neither_what_is_not_nor_what_is_anothers(
    scene: Scene, alder: APIClient, text: str
) -> None:
    assert alder.get(VEHICLES, {"find": text}).json()["count"] == 0


def test_vehicle_says_what_is_known_of_it(scene: Scene, alder: APIClient) -> None:
    body = alder.get(f"{VEHICLES}{scene.van.pk}/").json()
    assert body == {
        "id": scene.van.pk,
        "organisation": "alder",
        "ref": "Van 12",
        "vin": "0ABTEST0000000012",
        "marks": [
            {"mark": "QX 1234", "from_on": None, "until_on": "2020-01-01"},
            {"mark": "QZ-77-KL", "from_on": "2020-01-01", "until_on": None},
        ],
        "engine_family": "Alder 16",
        "engine_family_id": scene.family.pk,
        "first_used_on": "2019-01-01",
        "watched_from_new": True,
        "duty": None,
        "ended_on": None,
        "ended_because": None,
    }


def test_vehicle_of_which_nothing_is_known_has_nulls(scene: Scene, alder: APIClient) -> None:
    bare = VehicleFactory(organisation=scene.cast.alder, engine_family=None)
    body = alder.get(f"{VEHICLES}{bare.pk}/").json()
    assert {key for key, value in body.items() if value is not None} == {
        "id", "organisation", "ref", "marks",
    }  # fmt: skip


# --- pages of a list ---


def test_list_goes_through_all_vehicles_page_by_page(scene: Scene, alder: APIClient) -> None:
    seen, page = [], 1
    while page is not None:
        body = alder.get(VEHICLES, {"page_size": 5, "page": page}).json()
        assert body["count"] == 13
        seen += [row["ref"] for row in body["results"]]
        page = body["next_page"]
    assert seen == sorted(seen)
    assert set(seen) == set(
        Vehicle.objects.filter(organisation=scene.cast.alder).values_list("ref", flat=True)
    )


@pytest.mark.parametrize(("page", "rows", "next_page"), [(1, 7, 2), (2, 6, None), (3, 0, None)])
def test_list_ends_with_its_last_page(
    scene: Scene, alder: APIClient, page: int, rows: int, next_page: int | None
) -> None:
    body = alder.get(VEHICLES, {"page_size": 7, "page": page}).json()
    assert (len(body["results"]), body["next_page"]) == (rows, next_page)


@pytest.mark.parametrize(
    ("path", "most"),
    # Token and its user, the user's other tokens, memberships, count, rows; marks of all rows.
    [("/api/v1/vehicles/", 6), ("/api/v1/vehicles/?find=many", 6), ("/api/v1/engine-families/", 5)],
)
def test_list_asks_the_database_as_often_for_30_rows_as_for_3(
    scene: Scene, client_of: ClientOf, path: str, most: int
) -> None:
    client = client_of(scene.cast.at_cedar)
    asked = []
    for rows in (3, 27):
        for _ in range(rows):
            number = Vehicle.objects.count()
            vehicle = VehicleFactory(
                organisation=scene.cast.cedar,
                ref=f"many {number}",
                engine_family=EngineFamilyFactory(name=f"Oak {number}"),
            )
            RegistrationMarkFactory(vehicle=vehicle)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert client.get(path).json()["count"] in (3, 30)
        asked.append(len(queries))
    assert asked[0] == asked[1] <= most

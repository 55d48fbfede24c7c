"""Nobody sees another organisation's rows, nor whether there are any."""

import json
from typing import Any

import pytest
from rest_framework.test import APIClient

from tests.api.conftest import ClientOf
from tests.api.scene import Scene

SECTIONS = ("part-life/", "comebacks/", "early-failures/")
NOWHERE = 987_654_321


def addresses_of_alder(scene: Scene) -> list[str]:
    return [
        f"vehicles/{scene.van.pk}/",
        f"vehicles/{scene.van.pk}/history/",
        f"engine-families/{scene.family.pk}/part-life/",
        f"engine-families/{scene.family.pk}/comebacks/",
    ]


def missing(address: str, scene: Scene) -> str:
    return address.replace(str(scene.van.pk), str(NOWHERE)).replace(
        f"engine-families/{scene.family.pk}", f"engine-families/{NOWHERE}"
    )


def test_own_is_answered(scene: Scene, alder: APIClient) -> None:
    for address in addresses_of_alder(scene):
        assert alder.get(f"/api/v1/{address}").status_code == 200


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_answers_as_what_does_not_exist(
    scene: Scene, client_of: ClientOf, who: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    for address in addresses_of_alder(scene):
        anothers = client.get(f"/api/v1/{address}")
        nothing = client.get(f"/api/v1/{missing(address, scene)}")
        assert anothers.status_code == nothing.status_code == 404
        assert anothers.content == nothing.content
        assert anothers.headers.items() == nothing.headers.items()


def test_anothers_organisation_answers_as_one_that_does_not_exist(
    scene: Scene, alder: APIClient
) -> None:
    for path in ("vehicles/", "engine-families/", *SECTIONS):
        assert alder.get(f"/api/v1/{path}?organisation=alder").status_code == 200
        anothers = alder.get(f"/api/v1/{path}?organisation=birch")
        nothing = alder.get(f"/api/v1/{path}?organisation=nowhere")
        assert anothers.status_code == nothing.status_code == 404
        assert anothers.content == nothing.content


@pytest.mark.parametrize("who", ["at_cedar", "stranger"])
def test_cedar_and_strangers_see_nothing(scene: Scene, client_of: ClientOf, who: str) -> None:
    client = client_of(getattr(scene.cast, who))
    told = []
    for path in ("vehicles/", "vehicles/?find=QZ77KL", "engine-families/"):
        answer = client.get(f"/api/v1/{path}")
        assert (answer.json()["count"], answer.json()["results"]) == (0, [])
        told.append(answer.content.decode().lower())
    for path in SECTIONS:
        answer = client.get(f"/api/v1/{path}")
        assert (answer.status_code, answer.json()["code"]) == (404, "no_records")
        told.append(answer.content.decode().lower())
    assert not any(word in "".join(told) for word in ("alder", "birch", "van 12", "qz-77"))


def test_birch_sees_none_of_alders_figures(scene: Scene, client_of: ClientOf) -> None:
    client = client_of(scene.cast.at_birch)
    for section in SECTIONS:
        body = client.get(f"/api/v1/{section}").json()
        assert body["organisations"] == ["birch"]
        assert body["vehicles"] == 1
        assert "alder" not in json.dumps(body).lower()


def figures(client: APIClient, **query: str) -> tuple[list[str], int]:
    body: Any = client.get("/api/v1/part-life/", query).json()
    return body["organisations"], body["vehicles"]


def test_member_of_two_sees_both_together_or_one(scene: Scene, client_of: ClientOf) -> None:
    client = client_of(scene.cast.at_both)
    assert figures(client) == (["alder", "birch"], 14)
    assert figures(client, organisation="birch") == (["birch"], 1)


def test_vehicle_is_not_found_within_the_other_of_ones_own(
    scene: Scene, client_of: ClientOf
) -> None:
    client = client_of(scene.cast.at_both)
    path = f"/api/v1/vehicles/{scene.van.pk}/"
    assert client.get(path, {"organisation": "alder"}).status_code == 200
    assert client.get(path, {"organisation": "birch"}).status_code == 404


def test_member_no_more_sees_nothing_at_once(scene: Scene, client_of: ClientOf) -> None:
    client = client_of(scene.cast.viewer)
    path = f"/api/v1/vehicles/{scene.van.pk}/"
    assert client.get(path).status_code == 200
    scene.cast.viewer.memberships.all().delete()
    assert client.get(path).status_code == 404


def test_superuser_is_no_exception(scene: Scene, client_of: ClientOf) -> None:
    scene.cast.stranger.is_superuser = True
    scene.cast.stranger.save()
    client = client_of(scene.cast.stranger)
    assert client.get("/api/v1/vehicles/").json()["count"] == 0

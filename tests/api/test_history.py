"""A vehicle's history: what was recorded, and what became of its parts."""

from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from garage.records.models import OwnNormalLife, Vehicle
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.factories import OwnNormalLifeFactory, PartKindFactory


def history(client: APIClient, vehicle: Vehicle) -> Any:
    answer = client.get(f"/api/v1/vehicles/{vehicle.pk}/history/")
    assert answer.status_code == 200
    return answer.json()


def test_history_tells_marks_readings_jobs_lives_and_flags(scene: Scene, alder: APIClient) -> None:
    body = history(alder, scene.van)

    assert [mark["mark"] for mark in body["vehicle"]["marks"]] == ["QX 1234", "QZ-77-KL"]
    assert body["as_of"] == "2022-01-01"

    (in_doubt,) = [each for each in body["readings"] if each["doubt"] is not None]
    assert (in_doubt["typed"], in_doubt["doubt"]) == ("4450.00", "wrong_digit")
    assert in_doubt["doubt_reason"]

    newest = body["jobs"][0]
    assert (newest["opened_on"], newest["reading"]["km"]) == ("2021-01-01", 50_000)
    assert newest["repaired_elsewhere"] == ["fuel"]
    assert body["jobs"][1]["trouble_codes"] == ["P2463", "P2002"]
    assert body["jobs"][2]["complaint"] == "no power"
    (operation,) = newest["operations"]
    assert (operation["kind"], operation["part_kind"]) == ("replace", "particulate_filter")

    (part,) = body["parts"]
    told = [
        (
            life["fitment"]["origin"],
            life["life_class"],
            life["ending"],
            life["entry_km"],
            life["exit_km"],
        )
        for life in part["lives"]
    ]
    # Odometers at fitting and removal: 0, 30 000, 39 000, 50 000.
    assert told == [
        ("factory", "used", "failed", 0, 30_000),
        ("new_aftermarket", "used", "failed", 0, 9_000),
        ("new_aftermarket", "used", "failed", 0, 11_000),
        ("new_aftermarket", "used", "still_in_place", 0, 0),
    ]
    (flag,) = part["flags"]
    assert (flag["rule"], flag["vehicle"]) == ("early_repeat_failure", scene.van.pk)


def test_history_of_a_sound_vehicle_has_no_flag(scene: Scene, alder: APIClient) -> None:
    sound = Vehicle.objects.get(ref="A11")
    (part,) = history(alder, sound)["parts"]
    assert part["flags"] == []
    assert [life["ending"] for life in part["lives"]] == ["still_in_place"]


def test_history_without_parts_tells_the_jobs(scene: Scene, client_of: ClientOf) -> None:
    body = history(client_of(scene.cast.at_birch), scene.birch_van)
    assert [job["opened_on"] for job in body["jobs"]] == ["2021-03-01"]


def normal_life_of_factory_part(client: APIClient, vehicle: Vehicle) -> Any:
    (part,) = history(client, vehicle)["parts"]
    return part["lives"][0]["normal_life"]


def test_normal_life_is_the_catalogues(scene: Scene, alder: APIClient) -> None:
    normal = normal_life_of_factory_part(alder, scene.van)
    assert (normal["rule"], normal["median_km"]) == ("catalogue", 320_000)


def test_normal_life_is_the_organisations_own_where_it_has_one(
    scene: Scene, alder: APIClient
) -> None:
    OwnNormalLifeFactory(
        organisation=scene.cast.alder,
        part_kind=PartKindFactory(code="particulate_filter"),
        median_km=200_000,
    )
    normal = normal_life_of_factory_part(alder, scene.van)
    assert (normal["rule"], normal["median_km"]) == ("own", 200_000)


def test_normal_life_is_not_anothers_own(scene: Scene, client_of: ClientOf) -> None:
    OwnNormalLifeFactory(
        organisation=scene.cast.birch,
        part_kind=PartKindFactory(code="particulate_filter"),
        median_km=200_000,
    )
    assert OwnNormalLife.objects.count() == 1
    normal = normal_life_of_factory_part(client_of(scene.cast.at_both), scene.van)
    assert normal["rule"] == "catalogue"


def test_history_costs_as_many_queries_with_many_jobs_as_with_few(
    scene: Scene, alder: APIClient
) -> None:
    counts = []
    for ref in ("A11", "Van 12"):  # three jobs and one life; three jobs and four lives
        vehicle = Vehicle.objects.get(ref=ref)
        history(alder, vehicle)  # the report is made at the first
        with CaptureQueriesContext(connection) as queries:
            history(alder, vehicle)
        counts.append(len(queries))
    assert counts[0] == counts[1]

"""Part life, comebacks and early failures: of the view, of a family, of what is asked for."""

from datetime import date
from typing import Any

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from garage.outcomes.filters import comebacks_section, early_failures_section, part_life_section
from garage.outcomes.models import ReportSnapshot
from garage.outcomes.services import snapshot_ready
from garage.records.models import PartKind
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.factories import PartKindFactory


@pytest.fixture
def kept(scene: Scene) -> ReportSnapshot:
    """Alder's report, ready made."""
    kept = snapshot_ready(
        organisation_ids=[scene.cast.alder.pk],
        part_kind=PartKind.objects.get(code="particulate_filter"),
        now=timezone.now(),
    )
    assert kept is not None
    return kept


def get(client: APIClient, path: str, **query: str) -> Any:
    answer = client.get(f"/api/v1/{path}", query)
    assert answer.status_code == 200, answer.json()
    return answer.json()


def without_made_at(body: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in body.items() if key != "made_at"}


def test_sections_are_those_of_the_report(kept: ReportSnapshot, alder: APIClient) -> None:
    report = kept.report
    for path, section in (
        ("part-life/", part_life_section(report)),
        ("comebacks/", comebacks_section(report)),
        ("early-failures/", early_failures_section(report)),
    ):
        body = get(alder, path)
        assert without_made_at(body) == section
        assert timezone.datetime.fromisoformat(body["made_at"]) == kept.made_at
        assert body["as_of"] == kept.as_of.isoformat() == "2022-01-01"


def test_report_is_made_where_none_is_ready(scene: Scene, alder: APIClient) -> None:
    assert not ReportSnapshot.objects.exists()
    assert get(alder, "part-life/")["vehicles"] == 13
    assert ReportSnapshot.objects.count() == 1


def test_part_life_of_a_family_is_that_family_alone(
    scene: Scene, kept: ReportSnapshot, alder: APIClient
) -> None:
    body = get(alder, f"engine-families/{scene.family.pk}/part-life/")
    assert without_made_at(body) == part_life_section(kept.report, engine_family="Alder 16")
    assert {group["engine_family"] for group in body["part_life"]} == {"Alder 16"}


def test_comebacks_of_a_family_are_that_familys(
    scene: Scene, kept: ReportSnapshot, alder: APIClient
) -> None:
    body = get(alder, f"engine-families/{scene.family.pk}/comebacks/")
    (rates,) = body["comebacks"]
    # Seven replacements; of the van's three, two were followed by another.
    assert (rates["engine_family"], rates["operation"]) == ("Alder 16", "replace")
    assert (rates["jobs"], rates["comebacks"]) == (7, 2)


def test_comebacks_of_the_view_are_of_all_families(kept: ReportSnapshot, alder: APIClient) -> None:
    assert {rates["engine_family"] for rates in get(alder, "comebacks/")["comebacks"]} == {"(all)"}


@pytest.mark.parametrize(("origin", "groups"), [("factory", True), ("cleaned", False)])
def test_part_life_of_an_origin(
    kept: ReportSnapshot, alder: APIClient, origin: str, groups: bool
) -> None:
    body = get(alder, "part-life/", origin=origin)
    assert bool(body["part_life"]) is groups
    assert {group["origin"] for group in body["part_life"]} <= {origin}


@pytest.mark.parametrize(
    ("query", "flags"),
    [
        ({}, 1),
        ({"rule": "early_repeat_failure"}, 1),
        ({"rule": "early_failure"}, 0),
        ({"leader": "vehicle"}, 1),
        ({"leader": "design"}, 0),
        ({"leader": "none"}, 0),
        ({"origin": "new_aftermarket"}, 1),
        ({"origin": "cleaned"}, 0),
        ({"rule": "early_repeat_failure", "leader": "vehicle"}, 1),
        ({"rule": "early_failure", "leader": "vehicle"}, 0),
    ],
)
def test_early_failures_asked_for(
    scene: Scene, kept: ReportSnapshot, alder: APIClient, query: dict[str, str], flags: int
) -> None:
    early = get(alder, "early-failures/", **query)["early_failures"]
    assert [flag["vehicle"] for flag in early["flags"]] == [scene.van.pk] * flags
    assert early["watched_lives"] == kept.report["early_failures"]["watched_lives"]


def test_flag_without_a_leading_cause_is_asked_for_as_none(
    kept: ReportSnapshot, alder: APIClient
) -> None:
    (flag,) = kept.report["early_failures"]["flags"]
    flag["verdict"]["leader"] = None
    kept.save()
    assert len(get(alder, "early-failures/", leader="none")["early_failures"]["flags"]) == 1


def test_other_part_kind_has_a_report_of_its_own(kept: ReportSnapshot, alder: APIClient) -> None:
    PartKindFactory(code="starter_battery")
    body = get(alder, "part-life/", part_kind="starter_battery")
    assert (body["part_kind"], body["part_life"]) == ("starter_battery", [])
    assert body["account"]["fitments"] == 0


def test_families_are_those_of_vehicles_in_view(scene: Scene, client_of: ClientOf) -> None:
    def names(user: Any) -> list[tuple[str, int]]:
        rows = get(client_of(user), "engine-families/")["results"]
        return [(row["name"], row["vehicles"]) for row in rows]

    assert names(scene.cast.owner) == [("Alder 16", 13)]
    assert names(scene.cast.at_both) == [("Alder 16", 13), ("Birch 20", 1)]


@pytest.mark.parametrize("path", ["part-life/", "comebacks/", "early-failures/"])
def test_view_without_records_says_so(scene: Scene, client_of: ClientOf, path: str) -> None:
    answer = client_of(scene.cast.at_cedar).get(f"/api/v1/{path}")
    assert (answer.status_code, answer.json()["code"]) == (404, "no_records")


def test_as_of_is_the_newest_record_in_view(scene: Scene, client_of: ClientOf) -> None:
    body = get(client_of(scene.cast.at_birch), "part-life/")
    assert date.fromisoformat(body["as_of"]) == date(2021, 3, 1)

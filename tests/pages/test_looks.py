"""The page of missing looks: what it counts, in whose view, and what it links to."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from garage.outcomes.models import ReportSnapshot
from garage.pages.looks_told import looks_told
from garage.records.models import Call, CallList, PartKind
from tests.api.scene import Scene
from tests.pages.reading import leaks_in, text_of

#: Queries of the page, its report made, whether one list waits or many.
LOOKS = 7


def test_looks_of_the_view_are_told(scene: Scene, alder: Client) -> None:
    answer = alder.get("/looks/")
    told = text_of(answer)
    assert "Looks missing" in told
    assert "Share of failures that come here, found 80 %" in told
    assert "held never to come back (judgement, no source" in told
    assert "draw a call list" in told
    assert "birch" not in told
    assert leaks_in(answer) == []


def test_call_list_that_waits_is_linked(scene: Scene, alder: Client) -> None:
    waiting(scene)
    assert "1 still to call of 2 January 2026" in text_of(alder.get("/looks/"))


def test_fleet_that_sees_all_repairs_needs_none() -> None:
    told = looks_told(
        {"capture": [{"organisation": "fleet", "looks": None, "failures": {"value": 1.0}}]}
    )
    assert (told[0].sees_all_repairs, told[0].limits) == (True, "")


@pytest.mark.parametrize(
    ("now", "with_all", "narrower"),
    [
        ([0.4, 0.9], [0.55, 0.8], "50\u00a0%"),
        ([0.4, 0.9], [0.4, 0.9], "0\u00a0%"),
        (None, [0.4, 0.9], ""),
        ([1.0, 1.0], [1.0, 1.0], ""),
    ],
)
def test_gain_is_told_as_a_part_of_the_width(
    now: list[float] | None, with_all: list[float], narrower: str
) -> None:
    looks = {
        "visits": 0,
        "looked": 0,
        "missed": 0,
        "limits": now,
        "limits_with_all": with_all,
        "surviving": 0.8,
        "survival_limits": None,
        "survival_limits_with_all": None,
    }
    row = {"organisation": "alder", "looks": looks, "failures": {"value": None}}
    (told,) = looks_told({"capture": [row]})
    assert (told.narrower, told.looked_share, told.share) == (narrower, "", "")


@pytest.mark.parametrize("lists", [1, 20])
def test_it_asks_the_database_as_often_for_many_lists(
    scene: Scene, alder: Client, lists: int
) -> None:
    for _ in range(lists):
        waiting(scene)
    alder.get("/")  # makes the report
    assert ReportSnapshot.objects.exists()
    with CaptureQueriesContext(connection) as asked:
        alder.get("/looks/")
    assert len(asked) == LOOKS


def waiting(scene: Scene) -> None:
    drawn = CallList.objects.create(
        organisation=scene.cast.alder,
        drawn_on="2026-01-02",
        silent_since_days=365,
        part_kind=PartKind.objects.get(code="particulate_filter"),
        population=1,
        seed=1,
    )
    Call.objects.create(call_list=drawn, vehicle=scene.van, order=1)

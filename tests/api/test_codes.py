"""Trouble codes over the API: lines, what a vehicle answers, and the codes of a job."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.records.models import Job, TroubleCodeRead
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.evidence_factories import (
    OwnCodeWordingFactory,
    ReadingFactory,
    TroubleCodeReadFactory,
)

LINES, ON_BOARD = "/api/v1/code-lines/", "/api/v1/on-board-values/"
CODES = "/api/v1/jobs/{job_id}/codes/"


@pytest.fixture
def job(scene: Scene) -> Job:
    """The last of the van's visits; the one before has P2463 and P2002 on its line."""
    return Job.objects.filter(vehicle=scene.van).order_by("-opened_on")[0]


def address(job: Job) -> str:
    return CODES.format(job_id=job.pk)


def test_line_is_told_code_by_code_and_keeps_nothing(alder: APIClient) -> None:
    answer = alder.post(LINES, {"text": "P2463-92 pend., 3251/0, P1999, P2O63"}, format="json")
    assert answer.status_code == 200
    assert departures(answer, LINES, "post") == []
    told = answer.json()
    assert [(each["printed"], each["state"]) for each in told["codes"]] == [
        ("P2463-92", "pending"),
        ("3251/0", "not_said"),
        ("P1999", "not_said"),
    ]
    assert told["codes"][0]["failure_words"] == "performance or wrong operation"
    assert told["codes"][1]["group"] == "loading"
    assert (told["codes"][2]["words"], told["codes"][2]["group"]) == (None, None)
    assert told["unread"][0]["written"] == "P2O63"
    assert not TroubleCodeRead.objects.exists()


@pytest.mark.parametrize("body", [{}, {"text": ""}, {"text": "x" * 1_001}, {"txt": "P2463"}])
@pytest.mark.parametrize("where", [LINES, ON_BOARD])
def test_body_without_its_text_is_refused(
    alder: APIClient, body: dict[str, str], where: str
) -> None:
    if where == ON_BOARD and len(body.get("text", "")) > 1_000:
        body = {"text": "x" * 20_001}
    answer = alder.post(where, body, format="json")
    assert answer.status_code == 400
    assert departures(answer, where, "post") == []
    assert {each["name"] for each in answer.json()["errors"]} <= {"text", "txt"}


@pytest.mark.parametrize("where", [LINES, ON_BOARD])
def test_nobody_asks_without_signing_in(where: str) -> None:
    assert APIClient().post(where, {"text": "P2463"}, format="json").status_code == 401


def test_answers_of_a_vehicle_are_told(alder: APIClient) -> None:
    text = "41 31 01 2C\n41 0C FF FF\n41 01 82 08 40 40\n41 1C 06\nNO DATA"
    answer = alder.post(ON_BOARD, {"text": text}, format="json")
    assert answer.status_code == 200
    assert departures(answer, ON_BOARD, "post") == []
    told = answer.json()
    distance, speed = told["numbers"]
    assert (distance["value"], distance["unit"], distance["quantity"]) == (
        300.0,
        "km",
        "distance_since_clear",
    )
    assert (speed["value"], speed["reason"]) == (None, "FFFF stands for no value")
    assert told["monitors"][0]["incomplete"] == ["particulate filter"]
    assert told["self_tests"] == "not_finished"
    assert told["states"][0]["words"] == "Europe"
    assert told["unread"][0]["written"] == "NO DATA"


def test_codes_of_a_job_are_told_with_groups_before_and_resets(alder: APIClient, job: Job) -> None:
    TroubleCodeReadFactory(job=job, code="P244B", status_byte=0x50)
    TroubleCodeReadFactory(job=job, code="P2453", ecu="engine")
    ReadingFactory(
        job=job, quantity="distance_since_clear", value="40", unit="km", condition="", layout=""
    )
    answer = alder.get(address(job))
    assert answer.status_code == 200
    assert departures(answer, CODES, "get") == []
    told = answer.json()
    (arrival,) = told["phases"]
    assert [each["status"] for each in arrival["codes"]] == ["unknown", None]
    assert (arrival["first"], arrival["none_stored"]) == (["sensor"], False)
    before = Job.objects.filter(vehicle=job.vehicle_id).order_by("-opened_on")[1]
    assert [(each["job_id"], each["codes"]) for each in told["same_group"]] == [
        (before.pk, ["P2463"])
    ]
    assert told["same_group"][0]["km_ago"] == 11_000
    assert told["reset_before"] == before.pk
    assert told["resets"][0]["sign"] == "shown"
    assert told["resets"][0]["innocent"]


def test_own_words_hold_on_a_job(alder: APIClient, job: Job) -> None:
    OwnCodeWordingFactory(organisation=job.organisation, code="P244C", words="own words")
    TroubleCodeReadFactory(job=job, code="P244C")
    told = alder.get(address(job)).json()
    assert told["phases"][0]["codes"][0]["words"] == "own words"


@pytest.mark.parametrize("who", ["at_birch", "stranger"])
def test_anothers_job_answers_as_none(
    scene: Scene, client_of: ClientOf, job: Job, who: str
) -> None:
    assert client_of(getattr(scene.cast, who)).get(address(job)).status_code == 404


@pytest.mark.parametrize("count", [3, 30])
def test_codes_read_as_often_whatever_was_read(
    alder: APIClient, job: Job, count: int, django_assert_max_num_queries: Any
) -> None:
    for number in range(count):
        TroubleCodeReadFactory(job=job, code=f"P24{number:02X}")
    with django_assert_max_num_queries(17):
        assert alder.get(address(job)).status_code == 200

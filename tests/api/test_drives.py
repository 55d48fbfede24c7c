"""Logs over the API: judged without keeping, and kept at a job."""

from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from rest_framework.test import APIClient

from garage.records.models import DriveLogged, Job
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.evidence_factories import DriveLoggedFactory, OwnThresholdFactory, ReadingFactory

ASK = "/api/v1/drive-logs/"
KEPT = "/api/v1/jobs/{job_id}/drives/"
LOG = Path(str(finders.find("pages/drive-example.csv"))).read_text(encoding="utf-8")
BODY = {"log": LOG, "title": "60 km of open road", "phase": "after_work"}


@pytest.fixture
def technician(scene: Scene, client_of: ClientOf) -> APIClient:
    return client_of(scene.cast.technician)


@pytest.fixture
def job(scene: Scene) -> Job:
    return Job.objects.filter(vehicle=scene.van).order_by("pk")[0]


def ask(client: APIClient, **said: Any) -> Any:
    return client.post(ASK, {"log": LOG} | said, format="json")


def send(client: APIClient, job: Job, **changed: Any) -> Any:
    return client.post(KEPT.format(job_id=job.pk), BODY | changed, format="json")


def names(answer: Any) -> set[str]:
    assert answer.status_code == 400
    return {each["name"] for each in answer.json()["errors"]}


def test_log_is_judged_and_not_kept(technician: APIClient) -> None:
    """The example rises by 0.042 g/km and burns once; 20 g from 4.5 g is 369 km ahead."""
    answer = ask(technician, limit_g=20)
    assert answer.status_code == 200
    assert departures(answer, ASK, "post") == []
    told = answer.json()
    rate = told["soot_per_km"]
    assert rate["lower_g_per_km"] <= 0.042 <= rate["upper_g_per_km"]
    assert told["to_limit"]["near_km"] <= 369 <= told["to_limit"]["far_km"]
    assert [each["status"] for each in told["burns"]] == ["completed"]
    assert told["next"][0].startswith("Read the pressure")
    assert not DriveLogged.objects.exists()


def test_limit_not_known_is_null_with_why(technician: APIClient) -> None:
    told = ask(technician).json()
    assert told["limit"] is None
    assert "not known" in told["limit_reason"]
    assert told["to_limit"]["near_km"] is None


def test_litres_and_substrate_give_the_limit(technician: APIClient) -> None:
    assert ask(technician, litres=2.5).json()["limit"]["most_g"] == 12.5
    assert ask(technician, litres=2.5, silicon_carbide=True).json()["limit"]["most_g"] == 20.0


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ({"log": "mood\ngood\n"}, "log"),
        ({"log": ""}, "log"),
        ({"litres": 0}, "litres"),
        ({"limit_g": -1}, "limit_g"),
        ({"trigger_g": 30, "limit_g": 20}, "trigger_g"),
        ({"trigger_g": "much"}, "trigger_g"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_question_that_cannot_be_answered_names_its_fault(
    technician: APIClient, said: dict[str, Any], name: str
) -> None:
    answer = ask(technician, **said)
    assert names(answer) == {name}
    assert departures(answer, ASK, "post") == []


def test_rows_not_used_are_told_with_their_lines(technician: APIClient) -> None:
    told = ask(technician, log=f"{LOG}later,1,1,1\n").json()
    assert told["fault_count"] == 1
    assert (told["faults"][0]["line"], told["faults"][0]["column"]) == (123, "time_s")


def test_log_is_kept_and_told_by_the_sizes_of_its_job(technician: APIClient, job: Job) -> None:
    ReadingFactory(job=job, quantity="soot_limit", value="20", unit="g", condition="")
    answer = send(technician, job)
    assert answer.status_code == 201
    assert departures(answer, KEPT, "post") == []
    assert answer.json()["told"]["limit"]["most_g"] == 20.0
    listed = technician.get(KEPT.format(job_id=job.pk))
    assert departures(listed, KEPT, "get") == []
    assert [each["id"] for each in listed.json()["results"]] == [DriveLogged.objects.get().pk]


def test_own_limits_of_the_workshop_hold(technician: APIClient, job: Job) -> None:
    ReadingFactory(job=job, quantity="filter_volume", value="3", unit="L", condition="")
    OwnThresholdFactory(organisation=job.organisation, key="soot_unknown_g_per_l", value=6.0)
    assert send(technician, job).json()["told"]["limit"]["most_g"] == 18.0


def test_log_that_can_no_longer_be_read_is_null_with_why(technician: APIClient, job: Job) -> None:
    DriveLoggedFactory(job=job, text="mood,weather\ngood,fine\n")
    answer = technician.get(KEPT.format(job_id=job.pk))
    assert departures(answer, KEPT, "get") == []
    (told,) = answer.json()["results"]
    assert told["told"] is None
    assert "names time or distance" in told["unread"]


def test_every_fault_of_a_log_to_keep_is_told(technician: APIClient, job: Job) -> None:
    answer = send(technician, job, log="mood\ngood\n", title="x", phase="later")
    assert names(answer) == {"phase"}
    assert names(send(technician, job, log="mood\ngood\n", title="x")) == {"log"}
    assert not DriveLogged.objects.exists()


@pytest.mark.parametrize(("who", "status"), [("viewer", 403), ("at_birch", 404)])
def test_only_technicians_of_the_workshop_may_add(
    scene: Scene, client_of: ClientOf, job: Job, who: str, status: int
) -> None:
    assert send(client_of(getattr(scene.cast, who)), job).status_code == status
    assert not DriveLogged.objects.exists()


def test_list_of_logs_costs_the_same_for_three_and_thirty(
    technician: APIClient, job: Job, django_assert_max_num_queries: Any
) -> None:
    for count in (3, 27):
        for _ in range(count):
            DriveLoggedFactory(job=job)
        with django_assert_max_num_queries(11):
            assert technician.get(KEPT.format(job_id=job.pk)).status_code == 200


def test_litres_beyond_any_number_are_refused_by_name(technician: APIClient) -> None:
    """Fails if the product is infinite, which no answer can hold."""
    assert ask(technician, litres=60).status_code == 200
    assert names(ask(technician, litres=1e308)) == {"litres"}

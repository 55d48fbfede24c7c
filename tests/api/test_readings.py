"""Readings over the API: kept as shown and in the standard unit, refused with every fault."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.records.models import Job, Reading
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.api.test_problems import problem
from tests.records.evidence_factories import InstrumentFactory, ReadingFactory

READINGS = "/api/v1/jobs/{job_id}/readings/"
IDLE = {
    "quantity": "pressure_across_filter",
    "value": "0.48",
    "unit": "kPa",
    "phase": "arrival",
    "condition": "idle",
}


@pytest.fixture
def technician(scene: Scene, client_of: ClientOf) -> APIClient:
    return client_of(scene.cast.technician)


@pytest.fixture
def job(scene: Scene) -> Job:
    return Job.objects.filter(vehicle=scene.van).order_by("pk")[0]


def address(job: Job) -> str:
    return READINGS.format(job_id=job.pk)


def send(client: APIClient, job: Job, **changed: Any) -> Any:
    body = {key: value for key, value in (IDLE | changed).items() if value is not None}
    return client.post(address(job), body, format="json")


def test_reading_is_kept_as_shown_and_in_its_standard_unit(technician: APIClient, job: Job) -> None:
    answer = send(technician, job)
    assert answer.status_code == 201
    assert departures(answer, READINGS, "post") == []
    told = answer.json()
    assert (told["value"], told["unit"]) == ("0.4800", "kPa")
    assert (told["standard_value"], told["standard_unit"]) == (pytest.approx(4.8), "mbar")
    listed = technician.get(address(job))
    assert departures(listed, READINGS, "get") == []
    assert [each["id"] for each in listed.json()["results"]] == [Reading.objects.get().pk]


def test_value_without_a_unit_is_kept_and_not_known(technician: APIClient, job: Job) -> None:
    told = send(technician, job, unit=None).json()
    assert (told["unit"], told["standard_value"]) == (None, None)


def test_every_fault_is_told_and_nothing_is_kept(technician: APIClient, job: Job) -> None:
    answer = send(technician, job, value="655.35", condition="engine_off", speed_rpm=800)
    assert answer.status_code == 400
    assert departures(answer, READINGS, "post") == []
    assert {each["name"] for each in answer.json()["errors"]} == {"value", "speed_rpm"}
    assert not Reading.objects.exists()


def test_value_of_plain_digits_is_kept(technician: APIClient, job: Job) -> None:
    assert send(technician, job, value="9.0").json()["value"] == "9.0000"


@pytest.mark.parametrize("value", ["9_0", "9,0", "9.00001", "1e400", "nan", True])
def test_value_of_other_than_plain_digits_is_refused(
    technician: APIClient, job: Job, value: Any
) -> None:
    (fault,) = problem(send(technician, job, value=value))["errors"]
    assert (fault["code"], fault["name"]) == ("invalid", "value")
    assert fault["detail"].startswith("value must be a number with a decimal point, at most 10")
    assert not Reading.objects.exists()


@pytest.mark.parametrize("who", ["viewer", "at_birch"])
def test_only_technicians_of_the_workshop_may_add(
    scene: Scene, client_of: ClientOf, job: Job, who: str
) -> None:
    refused = {"viewer": 403, "at_birch": 404}[who]
    user = scene.cast.viewer if who == "viewer" else scene.cast.at_birch
    assert send(client_of(user), job).status_code == refused
    assert not Reading.objects.exists()


def test_instrument_is_named_and_one_of_another_workshop_does_not_exist(
    scene: Scene, technician: APIClient, job: Job
) -> None:
    own = InstrumentFactory(organisation=job.organisation, name="hand gauge")
    assert send(technician, job, instrument_id=own.pk).json()["instrument"] == "hand gauge"
    other = InstrumentFactory(organisation=scene.cast.birch)
    assert send(technician, job, instrument_id=other.pk).status_code == 404


def test_list_of_readings_costs_the_same_for_three_and_thirty(
    technician: APIClient, job: Job, django_assert_max_num_queries: Any
) -> None:
    for count in (3, 27):
        display = InstrumentFactory(organisation=job.organisation)
        for _ in range(count):
            ReadingFactory(job=job, instrument=display)
        with django_assert_max_num_queries(9):
            assert technician.get(address(job)).status_code == 200


def test_what_can_be_read_is_listed_with_its_units(technician: APIClient) -> None:
    answer = technician.get("/api/v1/quantities/")
    assert departures(answer, "/api/v1/quantities/", "get") == []
    told = {each["key"]: each for each in answer.json()["quantities"]}
    assert told["exhaust_flow"]["unit"] == "kg/h"
    assert "inHg" in told["pressure_across_filter"]["units"]

"""Evidence over the API: what a job's records say, and findings sent in."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.evidence.findings.vocabulary import vocabulary
from garage.records.models import FindingSeen, Job, OwnThreshold
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene
from tests.records.evidence_factories import (
    CautionConfirmedFactory,
    FindingSeenFactory,
    OwnThresholdFactory,
    ReadingFactory,
)

EVIDENCE = "/api/v1/jobs/{job_id}/evidence/"
FINDINGS = "/api/v1/jobs/{job_id}/findings/"
OIL = {"finding": "oil_level", "state": "within", "note": "dipstick, level ground"}


@pytest.fixture
def technician(scene: Scene, client_of: ClientOf) -> APIClient:
    return client_of(scene.cast.technician)


@pytest.fixture
def job(scene: Scene) -> Job:
    return Job.objects.filter(vehicle=scene.van).order_by("pk")[1]


def told(client: APIClient, job: Job, **asked: Any) -> Any:
    answer = client.get(EVIDENCE.format(job_id=job.pk), asked)
    assert answer.status_code == 200
    assert departures(answer, EVIDENCE) == []
    return answer.json()


def send(client: APIClient, job: Job, **changed: Any) -> Any:
    return client.post(FINDINGS.format(job_id=job.pk), OIL | changed, format="json")


def test_lists_add_up_and_say_what_speaks_for_and_against(technician: APIClient, job: Job) -> None:
    ReadingFactory(job=job, condition="engine_off", value="7")
    said = told(technician, job)
    assert [each["list"] for each in said["lists"]] == ["sensing", "filter", "upstream"]
    for each in said["lists"]:
        assert sum(state["probability"] for state in each["states"]) == pytest.approx(1.0)
    sensing = said["lists"][0]["states"]
    assert "zero" in {effect["finding"] for state in sensing for effect in state["speaks_for"]}
    assert all(e["ratio"] > 1 for state in sensing for e in state["speaks_for"])
    assert all(e["ratio"] < 1 for state in sensing for e in state["against"])
    zero = next(each for each in said["observed"] if each["finding"] == "zero")
    assert (zero["state"], zero["seen"]) == ("large", False)
    assert "7" in zero["because"]


def test_next_checks_gates_and_what_cannot_be_told_are_there(
    technician: APIClient, job: Job
) -> None:
    said = told(technician, job)
    assert said["next_checks"][0]["minutes"] > 0
    assert said["next_checks"][0]["bits"] >= 0
    gates = {each["key"]: each for each in said["gates"]}
    assert list(gates) == ["safety", "sensing", "cause", "burn", "clean", "replace", "clear"]
    assert (gates["safety"]["way"], gates["burn"]["way"]) == ("unknown", "not_reached")
    assert gates["safety"]["opens"]
    assert said["may"] == []
    assert said["cannot_tell"]
    assert said["learnt_from"] == 0


def test_reading_that_cannot_be_used_is_told_with_why(technician: APIClient, job: Job) -> None:
    ReadingFactory(job=job, unit="", standard_value=None)
    (unused,) = [each for each in told(technician, job)["unused"] if "pressure" in each["what"]]
    assert "no unit" in unused["reason"]


def test_contradiction_is_told_apart_from_agreement(technician: APIClient, job: Job) -> None:
    FindingSeenFactory(job=job, finding="tailpipe", state="clean")
    FindingSeenFactory(job=job, finding="particle_count", state="very_high")
    said = told(technician, job)
    found = [pair["finding"] for each in said["conflicts"] for pair in each["found"]]
    assert "tailpipe" in found
    keys = {each["key"] for each in said["conflicts"]}
    assert not keys & {each["key"] for each in said["agreements"]}


def test_phase_chooses_what_is_weighed(technician: APIClient, job: Job) -> None:
    FindingSeenFactory(job=job, phase="after_work", finding="oil_level", state="within")
    assert "oil_level" not in {e["finding"] for e in told(technician, job)["observed"]}
    after = told(technician, job, phase="after_work")
    assert (after["phase"], after["observed"][0]["seen"]) == ("after_work", True)
    refused = technician.get(EVIDENCE.format(job_id=job.pk), {"phase": "later"})
    assert refused.status_code == 400
    assert departures(refused, EVIDENCE) == []


def test_own_limit_of_the_workshop_is_held_against(technician: APIClient, job: Job) -> None:
    ReadingFactory(job=job, condition="engine_off", value="1.8")
    zero = {e["finding"]: e["state"] for e in told(technician, job)["observed"]}["zero"]
    OwnThresholdFactory(organisation=job.organisation, value=1.0)
    own = {e["finding"]: e["state"] for e in told(technician, job)["observed"]}["zero"]
    assert zero != own
    assert OwnThreshold.objects.get().key == "zero_good_mbar"


def test_finding_is_kept(technician: APIClient, job: Job) -> None:
    answer = send(technician, job)
    assert answer.status_code == 201
    assert departures(answer, FINDINGS, "post") == []
    kept = FindingSeen.objects.get()
    assert (kept.finding, kept.state, kept.phase) == ("oil_level", "within", "arrival")
    assert (kept.note, answer.json()["note"]) == (OIL["note"], OIL["note"])


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"finding": "mood"}, "finding"),
        ({"state": "purple"}, "state"),
        ({"phase": "later"}, "phase"),
        ({"note": "x" * 201}, "note"),
        ({"colour": "grey"}, "colour"),
        ({"finding": "smoke", "state": "blue"}, "finding"),
    ],
)
def test_finding_that_cannot_be_is_refused(
    technician: APIClient, job: Job, changed: dict[str, str], name: str
) -> None:
    answer = send(technician, job, **changed)
    assert answer.status_code == 400
    assert departures(answer, FINDINGS, "post") == []
    assert [each["name"] for each in answer.json()["errors"]] == [name]
    assert not FindingSeen.objects.exists()


def test_finding_is_kept_once_its_cautions_are_confirmed(technician: APIClient, job: Job) -> None:
    CautionConfirmedFactory(job=job, procedure="engine_running")
    assert send(technician, job, finding="smoke", state="blue").status_code == 201


@pytest.mark.parametrize(("who", "read", "write"), [("viewer", 200, 403), ("at_birch", 404, 404)])
def test_only_the_workshop_reads_and_its_technicians_write(
    scene: Scene, client_of: ClientOf, job: Job, who: str, read: int, write: int
) -> None:
    client = client_of(getattr(scene.cast, who))
    assert client.get(EVIDENCE.format(job_id=job.pk)).status_code == read
    assert send(client, job).status_code == write
    assert not FindingSeen.objects.exists()


def test_who_is_not_signed_in_is_asked_to(job: Job) -> None:
    for address in (EVIDENCE.format(job_id=job.pk), "/api/v1/findings/"):
        assert APIClient().get(address).status_code == 401


def test_evidence_costs_the_same_for_three_readings_and_thirty(
    technician: APIClient, job: Job, django_assert_max_num_queries: Any
) -> None:
    for count in (3, 27):
        for _ in range(count):
            ReadingFactory(job=job)
        with django_assert_max_num_queries(21):
            told(technician, job)


def test_words_of_the_evidence_are_all_there(technician: APIClient) -> None:
    answer = technician.get("/api/v1/findings/")
    assert departures(answer, "/api/v1/findings/") == []
    said = answer.json()
    assert [each["finding"] for each in said["findings"]] == [e.key for e in vocabulary().findings]
    smoke = next(each for each in said["findings"] if each["finding"] == "smoke")
    assert "blue" in {each["state"] for each in smoke["states"]}
    needed = {each["needs"] for each in said["findings"]} - {None}
    assert needed <= {each["procedure"] for each in said["procedures"]}
    assert all(each["cautions"] for each in said["procedures"])

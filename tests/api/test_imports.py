"""Imports over the API: sent, watched, cancelled, and kept from those who may not."""

import io
from datetime import UTC, datetime
from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.records.import_folders import RunFolder, RunProgress
from garage.records.models import ImportRun, Vehicle
from garage.records.services.import_runs import import_run_do
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
IMPORTS = "/api/v1/imports/"
VEHICLES = "vehicle_ref,registration\nNew 1,QX 1\n,QX 2\n"


@pytest.fixture
def technician(scene: Scene, client_of: ClientOf) -> APIClient:
    return client_of(scene.cast.technician)


def send(client: APIClient, **said: Any) -> Any:
    file = io.BytesIO(VEHICLES.encode())
    file.name = "out.csv"
    body = {"organisation": "alder", "vehicles": file, **said}
    return client.post(IMPORTS, {k: v for k, v in body.items() if v is not None})


def do(run: ImportRun) -> None:
    import_run_do(run_id=run.pk, clock=lambda: AT)


def test_files_are_sent_watched_and_told(scene: Scene, technician: APIClient) -> None:
    answer = send(technician)
    assert answer.status_code == 202
    assert departures(answer, IMPORTS, "post") == []
    body = answer.json()
    assert (body["state"], body["summary"], body["progress"]) == ("queued", None, None)
    assert body["files"] == {"vehicles": "out.csv"}
    run = ImportRun.objects.get(pk=body["id"])
    assert run.by == scene.cast.technician

    RunFolder(run.folder).progress_write(RunProgress("vehicles", 2, 1))
    address = f"{IMPORTS}{run.pk}/"
    assert technician.get(address).json()["progress"] == {"step": "vehicles", "rows": 2, "done": 1}

    do(run)
    told = technician.get(address).json()
    assert (told["state"], told["message"], told["progress"]) == ("done", None, None)
    (kind,) = told["summary"]["kinds"]
    assert kind["outcomes"] == {"applied": 1, "unchanged": 0, "repeated": 0, "rejected": 1}
    assert kind["new"] == {"vehicles": 1}
    assert len(kind["faults"]) == 1
    assert technician.get(IMPORTS).json()["count"] == 1


def test_dry_run_records_nothing(scene: Scene, technician: APIClient) -> None:
    send(technician, dry_run="true")
    do(ImportRun.objects.get())
    assert not Vehicle.objects.filter(ref="New 1").exists()


def test_run_is_cancelled(scene: Scene, technician: APIClient) -> None:
    run_id = send(technician).json()["id"]
    answer = technician.post(f"{IMPORTS}{run_id}/cancel/")
    assert departures(answer, f"{IMPORTS}{{run_id}}/cancel/", "post") == []
    assert (answer.status_code, answer.json()["state"]) == (202, "cancelled")
    again = technician.post(f"{IMPORTS}{run_id}/cancel/")
    assert again.status_code == 400
    assert again.json()["errors"][0]["code"] == "rule_broken"


@pytest.mark.parametrize(
    ("said", "code", "name"),
    [
        ({"vehicles": None}, "rule_broken", ""),
        ({"organisation": None}, "required", "organisation"),
        ({"colour": "red"}, "unknown_name", "colour"),
        ({"vehicles": io.BytesIO(b"")}, "empty", "vehicles"),
    ],
)
def test_what_is_wrong_is_told(
    scene: Scene, technician: APIClient, said: dict[str, Any], code: str, name: str
) -> None:
    answer = send(technician, **said)
    assert answer.status_code == 400
    assert departures(answer, IMPORTS, "post") == []
    assert [(each["code"], each["name"]) for each in answer.json()["errors"]] == [(code, name)]
    assert not ImportRun.objects.exists()


def test_json_is_not_read_here(scene: Scene, technician: APIClient) -> None:
    answer = technician.post(IMPORTS, {"organisation": "alder"}, format="json")
    assert answer.status_code == 415


def test_who_only_reads_may_not_send_or_cancel(
    scene: Scene, technician: APIClient, alder: APIClient
) -> None:
    run_id = send(technician).json()["id"]
    assert alder.get(f"{IMPORTS}{run_id}/").status_code == 200
    assert send(alder).status_code == 403
    assert alder.post(f"{IMPORTS}{run_id}/cancel/").status_code == 403
    assert ImportRun.objects.get().state == "queued"


def test_runs_of_others_are_not_there(
    scene: Scene, technician: APIClient, client_of: ClientOf
) -> None:
    run_id = send(technician).json()["id"]
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"{IMPORTS}{run_id}/").status_code == 404
    assert cedar.post(f"{IMPORTS}{run_id}/cancel/").status_code == 404
    assert send(cedar).status_code == 404
    assert cedar.get(IMPORTS).json()["count"] == 0


def test_session_of_the_pages_does_not_send(scene: Scene) -> None:
    client = APIClient()
    client.force_login(scene.cast.technician)
    assert send(client).status_code == 401

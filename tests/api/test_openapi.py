"""The OpenAPI document: sound, committed, and true of real answers."""

import io
from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.management import call_command
from drf_spectacular.validation import validate_schema
from rest_framework.test import APIClient

from garage.records.services.import_runs import SentFile, files_run_queue, import_run_do
from tests.api.conformance import departures, openapi_document
from tests.api.conftest import ClientOf
from tests.api.scene import Scene

BASE = "/api/v1/"
AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def test_document_is_sound_and_generated_without_a_warning(tmp_path: Any) -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", file=str(tmp_path / "openapi.yaml"))
    assert openapi_document()["openapi"].startswith("3.1")
    validate_schema(openapi_document())


def test_every_field_says_what_it_means() -> None:
    silent = [
        f"{name}.{field}"
        for name, schema in openapi_document()["components"]["schemas"].items()
        for field, form in schema.get("properties", {}).items()
        if not form.get("description")
    ]
    assert silent == []


def test_every_operation_has_a_summary_and_says_who_may() -> None:
    for path, operations in openapi_document()["paths"].items():
        for method, operation in operations.items():
            assert operation["summary"], (method, path)
            schemes = {name for each in operation["security"] for name in each}
            known = openapi_document()["components"]["securitySchemes"]
            assert schemes <= set(known), (method, path)


def import_run_of(scene: Scene) -> int:
    """A run that is done, with a row that was rejected."""
    content = b"vehicle_ref,registration\nNew 1,QX 1\n,QX 2\n"
    sent = SentFile("vehicles", "out.csv", io.BytesIO(content), len(content))
    run = files_run_queue(organisation=scene.cast.alder, files=[sent], dry_run=True, at=AT)
    import_run_do(run_id=run.pk, clock=lambda: AT)
    return run.pk


def addresses(scene: Scene) -> dict[str, str]:
    """A real address for each path of the document that is read."""
    van, family = f"{BASE}vehicles/{scene.van.pk}/", f"{BASE}engine-families/{scene.family.pk}/"
    job = f"{BASE}jobs/{scene.van.jobs.earliest('pk').pk}/"
    return {
        f"{BASE}jobs/{{job_id}}/evidence/": f"{job}evidence/",
        f"{BASE}jobs/{{job_id}}/readings/": f"{job}readings/",
        f"{BASE}jobs/{{job_id}}/codes/": f"{job}codes/",
        f"{BASE}jobs/{{job_id}}/resistance/": f"{job}resistance/",
        f"{BASE}jobs/{{job_id}}/drives/": f"{job}drives/",
        f"{BASE}engine-families/{{family_id}}/reference/": f"{family}reference/",
        f"{BASE}vehicles/": f"{BASE}vehicles/",
        f"{BASE}vehicles/{{vehicle_id}}/": van,
        f"{BASE}vehicles/{{vehicle_id}}/history/": f"{van}history/",
        f"{BASE}engine-families/": f"{BASE}engine-families/",
        f"{BASE}engine-families/{{family_id}}/part-life/": f"{family}part-life/",
        f"{BASE}engine-families/{{family_id}}/comebacks/": f"{family}comebacks/",
        f"{BASE}part-life/": f"{BASE}part-life/",
        f"{BASE}comebacks/": f"{BASE}comebacks/",
        f"{BASE}early-failures/": f"{BASE}early-failures/",
        f"{BASE}imports/": f"{BASE}imports/",
        f"{BASE}imports/{{run_id}}/": f"{BASE}imports/{import_run_of(scene)}/",
        f"{BASE}problems/{{code}}/": f"{BASE}problems/not_found/",
    }


def test_answers_are_as_the_document_says(scene: Scene, alder: APIClient) -> None:
    read = addresses(scene)
    written = {f"{BASE}token/", f"{BASE}imports/{{run_id}}/cancel/", f"{BASE}ash-budget/"}
    written |= {f"{BASE}jobs/{{job_id}}/findings/"}
    # Words that are the same for everybody.
    written |= {f"{BASE}findings/", f"{BASE}quantities/"}
    # Questions that keep nothing.
    written |= {f"{BASE}unit-inference/", f"{BASE}sensor-checks/", f"{BASE}drive-logs/"}
    written |= {f"{BASE}code-lines/", f"{BASE}on-board-values/"}
    assert set(read) | written == set(openapi_document()["paths"])
    for path, address in read.items():
        answer = alder.get(address)
        assert answer.status_code == 200
        assert departures(answer, path) == []


def test_refusals_are_as_the_document_says(scene: Scene, client_of: ClientOf) -> None:
    cedar = client_of(scene.cast.at_cedar)
    wrong_token = APIClient()
    wrong_token.credentials(HTTP_AUTHORIZATION="Bearer wrong")
    for path, address in addresses(scene).items():
        if "problems" in path:
            assert departures(cedar.get(f"{BASE}problems/bad_mood/"), path) == []
            continue
        for client, query, status in (
            (cedar, "?colour=red", 400),
            (APIClient(), "", 401),
            (wrong_token, "", 401),
            (cedar, "?organisation=alder", 404),
        ):
            answer = client.get(address + query)
            assert answer.status_code == status
            assert departures(answer, path) == []


def test_departure_is_found(scene: Scene, alder: APIClient) -> None:
    answer = alder.get(f"{BASE}vehicles/{scene.van.pk}/")
    path = f"{BASE}vehicles/{{vehicle_id}}/"
    vehicle = answer.json()
    for spoilt in (
        {**vehicle, "colour": "red"},
        {**vehicle, "ref": None},
        {**vehicle, "duty": "racing"},
    ):
        answer.json = lambda spoilt=spoilt: spoilt
        assert len(departures(answer, path)) == 1
    assert departures(alder.get(f"{BASE}nothing/"), path) == []
    assert departures(alder.put(f"{BASE}vehicles/"), path) == [
        f"get {path} may not answer 405; it may: 200, 400, 401, 404, 406"
    ]


@pytest.mark.parametrize(
    ("password", "status"), [("ash-and-soot", 201), ("soot-and-ash", 401), (None, 400)]
)
def test_sign_in_answers_as_the_document_says(
    scene: Scene, password: str | None, status: int
) -> None:
    scene.cast.viewer.set_password("ash-and-soot")
    scene.cast.viewer.save()
    body = {"user": scene.cast.viewer.username, "password": password}
    answer = APIClient().post(f"{BASE}token/", body, format="json")
    assert answer.status_code == status
    assert departures(answer, f"{BASE}token/", "post") == []


# --- where it is read ---


def test_document_is_served_to_all() -> None:
    answer = APIClient().get(f"{BASE}openapi/", HTTP_ACCEPT="application/vnd.oai.openapi+json")
    assert answer.status_code == 200
    assert answer.json()["info"]["title"] == "Comeback Register"


def test_page_of_it_loads_nothing_from_outside() -> None:
    answer = APIClient().get(f"{BASE}docs/")
    page = answer.content.decode()
    script = APIClient().get(f"{BASE}docs/?script=").content.decode()
    assert answer.status_code == 200
    for address in ("http://", "https://", 'src="//', 'href="//'):
        assert address not in page + script
    assert "<style" not in page
    assert '"validatorUrl": null' in script
    assert "script-src 'self';" in answer.headers["Content-Security-Policy"]
    assert "unsafe" not in answer.headers["Content-Security-Policy"]

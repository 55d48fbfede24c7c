"""Every refusal has one shape, whatever refuses."""

import json
import logging
import math
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied as DjangoPermissionDenied
from django.test import Client
from rest_framework.exceptions import NotFound, PermissionDenied, ValidationError
from rest_framework.response import Response
from rest_framework.test import APIClient, APIRequestFactory

from api.errors import problem_for
from api.problems import CONTENT_TYPE, FAULTS, PROBLEMS
from api.views.base import RecordsView
from garage.outcomes.wire import refuse_non_finite
from tests.api.scene import Scene

VEHICLES = "/api/v1/vehicles/"


def problem(response: Any) -> dict[str, Any]:
    assert response.headers["Content-Type"] == CONTENT_TYPE
    body: dict[str, Any] = json.loads(response.content)
    assert body["status"] == response.status_code
    assert body["type"] == f"/api/v1/problems/{body['code']}/"
    assert set(body) <= {"type", "title", "status", "detail", "code", "errors"}
    assert {each["code"] for each in body.get("errors", [])} <= {kind.code for kind in FAULTS}
    return body


def test_codes_are_named_once() -> None:
    for kinds in (PROBLEMS, FAULTS):
        codes = [kind.code for kind in kinds]
        assert len(set(codes)) == len(codes)


@pytest.mark.parametrize("kind", PROBLEMS, ids=lambda kind: kind.code)
def test_type_of_each_problem_leads_to_its_meaning(kind: Any) -> None:
    answer = APIClient().get(f"/api/v1/problems/{kind.code}/")
    assert answer.status_code == 200
    assert answer.json()["title"] == kind.title


def test_unknown_problem_has_no_meaning() -> None:
    assert problem(APIClient().get("/api/v1/problems/bad_mood/"))["code"] == "not_found"


@pytest.mark.parametrize(
    "path", ["/api/v1/nothing/", "/api/v1/", "/api/v1/vehicles", "/api/v1/vehicles/x/"]
)
@pytest.mark.parametrize("method", ["get", "post", "delete"])
def test_address_of_nothing_is_not_found(path: str, method: str) -> None:
    assert problem(getattr(APIClient(), method)(path))["code"] == "not_found"


def test_nobody_signed_in_reads_nothing(db: None) -> None:
    answer = APIClient().get(VEHICLES)
    assert problem(answer)["code"] == "sign_in_required"
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_wrong_token_reads_nothing(db: None) -> None:
    answer = APIClient().get(VEHICLES, HTTP_AUTHORIZATION="Bearer 0123456789")
    assert problem(answer)["code"] == "token_refused"


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_records_are_only_read(alder: APIClient, method: str) -> None:
    answer = getattr(alder, method)(VEHICLES)
    assert problem(answer)["code"] == "method_not_allowed"
    assert answer.headers["Allow"] == "GET, HEAD, OPTIONS"


def test_other_forms_than_json_are_not_offered(alder: APIClient) -> None:
    assert problem(alder.get(VEHICLES, HTTP_ACCEPT="text/html"))["code"] == "not_acceptable"


def test_other_bodies_than_json_are_not_read(db: None) -> None:
    answer = APIClient().post("/api/v1/token/", "user=x", content_type="text/plain")
    assert problem(answer)["code"] == "unsupported_media_type"


def test_foreign_host_is_refused_as_a_problem(db: None) -> None:
    answer = APIClient().get(VEHICLES, HTTP_HOST="elsewhere.example")
    assert problem(answer)["code"] == "unreadable_request"


def test_foreign_host_of_a_page_keeps_a_page(db: None) -> None:
    answer = Client().get("/", HTTP_HOST="elsewhere.example")
    assert answer.status_code == 400
    assert answer.headers["Content-Type"].startswith("text/html")


def test_all_faults_of_a_query_are_named_at_once(alder: APIClient) -> None:
    query = "part_kind=wing&origin=found&leader=luck&rule=late&colour=red&organisation="
    body = problem(alder.get(f"/api/v1/early-failures/?{query}"))
    assert body["code"] == "invalid_request"
    assert {(each["name"], each["code"]) for each in body["errors"]} == {
        ("part_kind", "not_in_catalogue"),
        ("origin", "invalid_choice"),
        ("leader", "invalid_choice"),
        ("rule", "invalid_choice"),
        ("colour", "unknown_name"),
        ("organisation", "blank"),
    }


def test_name_that_cannot_be_written_out_is_refused(alder: APIClient) -> None:
    answer = alder.post("/api/v1/ash-budget/", r'{"\ud800": 1}', content_type="application/json")
    (fault,) = problem(answer)["errors"]
    assert (answer.status_code, fault["name"]) == (400, r"\ud800")


def test_unknown_part_kind_is_told_the_known_ones(alder: APIClient) -> None:
    (fault,) = problem(alder.get("/api/v1/part-life/?part_kind=wing"))["errors"]
    assert fault["detail"].startswith("part_kind must be in the catalogue; got 'wing'. Known: ")
    assert "particulate_filter" in fault["detail"]


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("page=0", "min_value"),
        ("page=x", "invalid"),
        ("page_size=201", "max_value"),
        ("page=1&page=2", "given_twice"),
        ("find=" + "x" * 61, "max_length"),
        ("find=", "blank"),
        ("find=%00", "null_characters_not_allowed"),
        ("page=" + "9" * 2000, "max_string_length"),
    ],
)
def test_fault_of_a_list_query_is_named(alder: APIClient, query: str, code: str) -> None:
    (fault,) = problem(alder.get(f"{VEHICLES}?{query}"))["errors"]
    assert fault["code"] == code
    assert "; got " in fault["detail"]
    assert len(fault["detail"]) < 250


@pytest.mark.parametrize("query", ["page=1", "page_size=200", "find=" + "x" * 60])
def test_list_query_at_its_limit_is_answered(alder: APIClient, query: str) -> None:
    assert alder.get(f"{VEHICLES}?{query}").status_code == 200


def test_faults_of_a_serializer_are_named_however_deep() -> None:
    error = ValidationError({"jobs": [{"ref": ["must be given"]}, {}], "name": ["too long"]})
    errors = problem_for(error, {}).data["errors"]
    assert [(each["name"], each["detail"]) for each in errors] == [
        ("jobs.ref", "must be given"),
        ("name", "too long"),
    ]


# --- what nobody foresaw ---


def failing(error: Exception) -> Any:
    class FailingView(RecordsView):
        authentication_classes = ()
        permission_classes = ()

        def get(self, request: Any) -> Response:
            raise error

    response: Any = FailingView.as_view()(APIRequestFactory().get("/api/v1/x/"))
    return response.render()


def test_unforeseen_failure_is_a_problem_that_says_nothing_of_it(
    db: None, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR, logger="api.errors"):
        answer = failing(RuntimeError("row QX 1234 is broken"))
    assert problem(answer)["code"] == "internal_error"
    assert "QX 1234" not in answer.content.decode()
    assert [record.name for record in caplog.records] == ["api.errors"]


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (DjangoPermissionDenied("not yours"), "not_allowed"),
        (PermissionDenied("not yours"), "not_allowed"),
        (NotFound("not yours"), "not_found"),
    ],
)
def test_refusal_from_below_is_a_problem_without_its_words(
    db: None, error: Exception, code: str
) -> None:
    answer = failing(error)
    assert problem(answer)["code"] == code
    assert "not yours" not in answer.content.decode()


def test_failure_outside_a_view_is_a_problem_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError

    monkeypatch.setattr("rest_framework.response.Response.rendered_content", property(broken))
    answer = Client(raise_request_exception=False).get("/api/v1/problems/not_found/")
    assert problem(answer)["code"] == "internal_error"


# --- numbers that JSON cannot carry ---


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_number_that_json_lacks_is_never_sent(number: float) -> None:
    with pytest.raises(ValueError, match=r"report\.part_life\[0\]\.value is"):
        refuse_non_finite({"part_life": [{"value": number}]})
    with pytest.raises(ValueError, match="not JSON compliant"):
        failing_with_number(number)


def failing_with_number(number: float) -> bytes:
    class NumberView(RecordsView):
        authentication_classes = ()
        permission_classes = ()

        def get(self, request: Any) -> Response:
            return Response({"value": number})

    response: Any = NumberView.as_view()(APIRequestFactory().get("/api/v1/x/"))
    content: bytes = response.render().content
    return content


def test_number_that_json_has_is_sent() -> None:
    refuse_non_finite({"part_life": [{"value": 0.0}, {"value": None}]})
    assert failing_with_number(0.0) == b'{"value":0.0}'


@pytest.mark.parametrize("section", ["part-life", "comebacks", "early-failures"])
def test_no_answer_holds_a_number_that_json_lacks(
    scene: Scene, alder: APIClient, section: str
) -> None:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    content = alder.get(f"/api/v1/{section}/").content
    assert json.loads(content, parse_constant=refuse)["vehicles"] == 13

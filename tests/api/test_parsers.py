"""A body is JSON of which nothing is lost: names once, no deeper and no larger than is read."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from api.parsers import NESTING_MOST
from tests.api.conformance import departures
from tests.api.test_problems import problem

IMPORTS, VEHICLES = "/api/v1/imports/", "/api/v1/vehicles/"
LINES, BUDGET = "/api/v1/code-lines/", "/api/v1/ash-budget/"


def sent(client: APIClient, path: str, body: str) -> Any:
    answer = client.post(path, body, content_type="application/json")
    assert departures(answer, path.partition("?")[0], "post") == []
    return answer


def nested(deep: int) -> str:
    """A list of lists under a name, so that the whole is `deep` deep."""
    return '{"text": ' + "[" * (deep - 1) + "]" * (deep - 1) + "}"


def test_name_given_once_is_read(alder: APIClient) -> None:
    assert sent(alder, BUDGET, '{"volume_l": 3}').status_code == 200


def test_name_given_twice_is_refused(alder: APIClient) -> None:
    (fault,) = problem(sent(alder, BUDGET, '{"volume_l": 3, "volume_l": 4}'))["errors"]
    assert (fault["code"], fault["name"]) == ("given_twice", "volume_l")


def test_what_is_sent_beside_the_body_is_refused(alder: APIClient) -> None:
    (fault,) = problem(sent(alder, f"{BUDGET}?on_filter_km=9", '{"volume_l": 3}'))["errors"]
    assert (fault["code"], fault["place"]) == ("unknown_name", "query")
    assert fault["name"] == "on_filter_km"


def test_format_is_no_parameter(alder: APIClient) -> None:
    (fault,) = problem(alder.get(f"{VEHICLES}?format=xml"))["errors"]
    assert (fault["code"], fault["name"]) == ("unknown_name", "format")


def test_body_as_deep_as_is_read_is_told_its_faults(alder: APIClient) -> None:
    (fault,) = problem(sent(alder, LINES, nested(NESTING_MOST)))["errors"]
    assert fault["name"] == "text"


@pytest.mark.parametrize("deep", [NESTING_MOST + 1, 900, 100_000])
def test_body_nested_deeper_cannot_be_read(alder: APIClient, deep: int) -> None:
    assert problem(sent(alder, LINES, nested(deep)))["code"] == "unreadable_request"


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_figure_that_is_no_number_cannot_be_read(alder: APIClient, number: str) -> None:
    answer = sent(alder, BUDGET, f'{{"volume_l": {number}}}')
    assert problem(answer)["code"] == "unreadable_request"


def test_body_of_other_bytes_cannot_be_read(alder: APIClient) -> None:
    answer = alder.post(LINES, "{}".encode("utf-16"), content_type="application/json")
    assert problem(answer)["code"] == "unreadable_request"


@pytest.mark.parametrize(
    ("size", "code"), [(2_000, "invalid_request"), (2_700_000, "body_too_large")]
)
def test_body_larger_than_is_read_is_refused(alder: APIClient, size: int, code: str) -> None:
    assert problem(sent(alder, LINES, '{"text": "' + "x" * size + '"}'))["code"] == code


@pytest.mark.parametrize(
    ("names", "code"), [(900, "invalid_request"), (1_001, "unreadable_request")]
)
def test_form_of_more_names_than_are_read_is_refused(
    alder: APIClient, names: int, code: str
) -> None:
    answer = alder.post(IMPORTS, {f"a{each}": "1" for each in range(names)}, format="multipart")
    assert departures(answer, IMPORTS, "post") == []
    assert problem(answer)["code"] == code


@pytest.mark.parametrize(
    ("names", "code"), [(900, "invalid_request"), (1_001, "unreadable_request")]
)
def test_query_of_more_names_than_are_read_is_refused(
    alder: APIClient, names: int, code: str
) -> None:
    answer = alder.get(f"{VEHICLES}?{'a=1&' * names}")
    assert departures(answer, VEHICLES, "get") == []
    assert problem(answer)["code"] == code

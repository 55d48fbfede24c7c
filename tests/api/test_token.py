"""Signing in for a token, and out of it."""

import base64
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone
from knox.models import AuthToken
from rest_framework.test import APIClient

from api.problems import FAULTS
from api.services.tokens import TOKEN_LIFETIME
from api.throttles import SignInThrottle
from tests.records.factories import UserFactory

TOKEN = "/api/v1/token/"
VEHICLES = "/api/v1/vehicles/"
RIGHT, WRONG = "ash-and-soot", "soot-and-ash"


@pytest.fixture
def user(db: None) -> Any:
    user = UserFactory(username="tess")
    user.set_password(RIGHT)
    user.save()
    return user


def basic(user: str, password: str) -> str:
    return "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()


def sign_in(password: str, user: str = "tess") -> Any:
    return APIClient().post(TOKEN, HTTP_AUTHORIZATION=basic(user, password))


def test_token_by_basic_opens_the_records(user: Any) -> None:
    answer = sign_in(RIGHT)
    assert answer.status_code == 201
    bearer = f"Bearer {answer.json()['token']}"
    assert APIClient().get(VEHICLES, HTTP_AUTHORIZATION=bearer).status_code == 200


def test_token_by_basic_with_wrong_password_is_refused(user: Any) -> None:
    answer = sign_in(WRONG)
    assert (answer.status_code, answer.json()["code"]) == (401, "sign_in_refused")
    assert answer.headers["WWW-Authenticate"].startswith("Basic ")
    assert not AuthToken.objects.exists()


def test_token_by_json_opens_the_records(user: Any) -> None:
    answer = APIClient().post(TOKEN, {"user": "tess", "password": RIGHT}, format="json")
    assert answer.status_code == 201


def test_token_by_json_with_wrong_password_is_refused(user: Any) -> None:
    answer = APIClient().post(TOKEN, {"user": "tess", "password": WRONG}, format="json")
    assert (answer.status_code, answer.json()["code"]) == (401, "sign_in_refused")


def test_unknown_name_answers_as_a_wrong_password(user: Any) -> None:
    assert sign_in(RIGHT, user="nobody").json() == sign_in(WRONG).json()


def test_person_who_may_not_sign_in_any_more_is_refused(user: Any) -> None:
    user.is_active = False
    user.save()
    assert sign_in(RIGHT).status_code == 401


def test_token_expires_after_a_working_day(user: Any) -> None:
    before = timezone.now()
    expires_at = datetime.fromisoformat(sign_in(RIGHT).json()["expires_at"])
    assert abs(expires_at - before - TOKEN_LIFETIME) < timedelta(minutes=1)


@pytest.mark.parametrize(
    ("left", "status"), [(timedelta(minutes=1), 200), (-timedelta(minutes=1), 401)]
)
def test_token_opens_until_it_expires(user: Any, left: timedelta, status: int) -> None:
    row, token = AuthToken.objects.create(user=user, expiry=timedelta(hours=1))
    AuthToken.objects.filter(pk=row.pk).update(expiry=timezone.now() + left)
    answer = APIClient().get(VEHICLES, HTTP_AUTHORIZATION=f"Bearer {token}")
    assert answer.status_code == status


def test_token_is_kept_as_a_digest_only(user: Any) -> None:
    token = sign_in(RIGHT).json()["token"]
    row = AuthToken.objects.values().get()
    assert token not in {str(value) for value in row.values()}


def test_token_begins_no_session_and_is_not_kept_by_caches(user: Any) -> None:
    answer = sign_in(RIGHT)
    assert not answer.cookies
    assert answer.headers["Cache-Control"] == "no-store"


def test_token_withdrawn_opens_nothing(user: Any) -> None:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {sign_in(RIGHT).json()['token']}")
    assert client.delete(TOKEN).status_code == 204
    answer = client.get(VEHICLES)
    assert (answer.status_code, answer.json()["code"]) == (401, "token_refused")
    assert answer.headers["WWW-Authenticate"] == "Bearer"


def test_token_withdrawn_leaves_the_others(user: Any) -> None:
    kept, withdrawn = (sign_in(RIGHT).json()["token"] for _ in range(2))
    APIClient().delete(TOKEN, HTTP_AUTHORIZATION=f"Bearer {withdrawn}")
    assert APIClient().get(VEHICLES, HTTP_AUTHORIZATION=f"Bearer {kept}").status_code == 200


def test_no_token_is_withdrawn_without_one(user: Any) -> None:
    answer = APIClient().delete(TOKEN)
    assert (answer.status_code, answer.json()["code"]) == (401, "sign_in_required")


def test_wrong_passwords_lock_the_name(user: Any) -> None:
    for _ in range(settings.AXES_FAILURE_LIMIT):
        sign_in(WRONG)
    answer = sign_in(RIGHT)
    assert (answer.status_code, answer.json()["code"]) == (429, "sign_in_locked")
    assert answer.headers["Retry-After"] == "900"
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_one_wrong_password_fewer_locks_nothing(user: Any) -> None:
    for _ in range(settings.AXES_FAILURE_LIMIT - 1):
        sign_in(WRONG)
    assert sign_in(RIGHT).status_code == 201


def test_right_password_wipes_out_the_wrong_ones(user: Any) -> None:
    for password in [*[WRONG] * (settings.AXES_FAILURE_LIMIT - 1), RIGHT, WRONG]:
        sign_in(password)
    assert sign_in(RIGHT).status_code == 201


def test_too_many_names_from_one_address_are_slowed(user: Any) -> None:
    allowed, _ = SignInThrottle().parse_rate(SignInThrottle.rate)
    for number in range(allowed):
        assert sign_in(WRONG, user=f"guess{number}").status_code == 401
    answer = sign_in(RIGHT)
    assert (answer.status_code, answer.json()["code"]) == (429, "too_many_requests")
    assert 0 < int(answer.headers["Retry-After"]) <= 61


def test_forwarded_address_is_not_believed_without_a_proxy(user: Any) -> None:
    allowed, _ = SignInThrottle().parse_rate(SignInThrottle.rate)
    statuses = [
        APIClient()
        .post(
            TOKEN,
            HTTP_AUTHORIZATION=basic(f"guess{number}", WRONG),
            HTTP_X_FORWARDED_FOR=f"192.0.2.{number}",
        )
        .status_code
        for number in range(allowed + 1)
    ]
    assert statuses[-1] == 429


@pytest.mark.parametrize(
    "given", ["Basic !!", "Basic " + base64.b64encode(b"no colon").decode(), "Basic"]
)
def test_basic_that_cannot_be_read_is_refused(user: Any, given: str) -> None:
    answer = APIClient().post(TOKEN, HTTP_AUTHORIZATION=given)
    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable_request")


def test_body_faults_are_named_all_at_once_without_the_password(user: Any) -> None:
    body = {"name": "tess", "password": "x" * 200}
    answer = APIClient().post(TOKEN, body, format="json")
    faults = {(fault["name"], fault["code"]) for fault in answer.json()["errors"]}
    assert faults == {("name", "unknown_name"), ("user", "required"), ("password", "max_length")}
    assert "xxx" not in answer.content.decode()


@pytest.mark.parametrize(
    ("password", "code"),
    [
        ("null", "null"),
        ('""', "blank"),
        ("[]", "invalid"),
        (r'"\u0000"', "null_characters_not_allowed"),
        (r'"\ud800"', "surrogate_characters_not_allowed"),
    ],
)
def test_body_fault_has_a_listed_code(user: Any, password: str, code: str) -> None:
    body = f'{{"user": "tess", "password": {password}}}'
    answer = APIClient().post(TOKEN, body, content_type="application/json")
    assert [fault["code"] for fault in answer.json()["errors"]] == [code]
    assert code in {kind.code for kind in FAULTS}


@pytest.mark.parametrize("body", ["[1", "[1]", '"tess"'])
def test_body_that_is_no_object_is_refused(user: Any, body: str) -> None:
    answer = APIClient().post(TOKEN, body, content_type="application/json")
    assert answer.status_code == 400


# --- the pages' session ---


def test_session_of_the_pages_reads(user: Any) -> None:
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(VEHICLES).status_code == 200


def test_session_of_the_pages_changes_nothing(user: Any) -> None:
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    for answer in (client.post(VEHICLES), client.delete(TOKEN)):
        assert (answer.status_code, answer.json()["code"]) == (401, "sign_in_required")

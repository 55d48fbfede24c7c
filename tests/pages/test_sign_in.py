"""Sign in, sign out, and being locked out."""

import pytest
from django.test import Client

from tests.api.scene import Scene
from tests.pages.reading import text_of

PASSWORD = "warm-oil-42"


@pytest.fixture
def member(scene: Scene) -> str:
    user = scene.cast.owner
    user.set_password(PASSWORD)
    user.save()
    return str(user.username)


def test_the_right_password_leads_to_the_page_asked_for(member: str) -> None:
    client = Client()
    answer = client.post(
        "/sign-in/", {"username": member, "password": PASSWORD, "next": "/early-failures/"}
    )
    assert (answer.status_code, answer.headers["Location"]) == (302, "/early-failures/")
    assert client.get("/").status_code == 200


def test_a_wrong_password_is_refused(member: str) -> None:
    client = Client()
    answer = client.post("/sign-in/", {"username": member, "password": "cold-oil-42"})
    assert answer.status_code == 200
    assert "correct username and password" in text_of(answer)
    assert client.get("/").status_code == 302


def test_an_outside_address_is_never_the_page_asked_for(member: str) -> None:
    answer = Client().post(
        "/sign-in/",
        {"username": member, "password": PASSWORD, "next": "https://elsewhere.invalid/"},
    )
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")


def test_too_many_wrong_passwords_lock_the_name_out_in_words(member: str) -> None:
    client = Client()
    answers = [
        client.post("/sign-in/", {"username": member, "password": "cold-oil-42"}) for _ in range(5)
    ]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 200, 429]
    assert "Too many wrong passwords" in text_of(answers[-1])
    assert "Wait 15 minutes" in text_of(answers[-1])
    assert sign_in_status(client, member) == 429


def sign_in_status(client: Client, member: str) -> int:
    return client.post("/sign-in/", {"username": member, "password": PASSWORD}).status_code


def test_who_is_not_signed_in_is_offered_nothing_but_to_sign_in(scene: Scene) -> None:
    told = text_of(Client().get("/sign-in/"))
    assert "Sign in" in told
    assert "Sign out" not in told
    assert "Early failures" not in told


def test_sign_out_ends_it(scene: Scene, alder: Client) -> None:
    assert alder.get("/").status_code == 200
    assert alder.get("/sign-out/").status_code == 405
    assert alder.post("/sign-out/").status_code == 302
    assert alder.get("/").status_code == 302

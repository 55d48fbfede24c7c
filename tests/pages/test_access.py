"""Who may see which page: each success with its refusal."""

import pytest
from django.test import Client

from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of

NOWHERE = 987_654_321
PAGES = ("/", "/?q=van", "/early-failures/", "vehicle", "family")


def address(page: str, scene: Scene) -> str:
    return {
        "vehicle": f"/vehicles/{scene.van.pk}/",
        "family": f"/engine-families/{scene.family.pk}/",
    }.get(page, page)


@pytest.mark.parametrize("page", PAGES)
def test_a_member_sees_it(scene: Scene, alder: Client, page: str) -> None:
    answer = alder.get(address(page, scene), follow=True)
    assert answer.status_code == 200
    assert leaks_in(answer) == []


@pytest.mark.parametrize("page", PAGES)
def test_who_is_not_signed_in_is_asked_to(scene: Scene, page: str) -> None:
    answer = Client().get(address(page, scene))
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in/?next=")


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
@pytest.mark.parametrize("page", ["vehicle", "family"])
def test_anothers_answers_as_what_does_not_exist(
    scene: Scene, client_of: ClientOf, who: str, page: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    anothers = client.get(address(page, scene))
    nothing = client.get(
        f"/vehicles/{NOWHERE}/" if page == "vehicle" else f"/engine-families/{NOWHERE}/"
    )
    assert anothers.status_code == nothing.status_code == 404
    assert anothers.content == nothing.content
    assert anothers.headers.items() == nothing.headers.items()


@pytest.mark.parametrize("who", ["at_cedar", "stranger"])
@pytest.mark.parametrize("page", ["/", "/?q=QZ77KL", "/?q=van+12", "/early-failures/"])
def test_cedar_and_strangers_see_nothing(
    scene: Scene, client_of: ClientOf, who: str, page: str
) -> None:
    answer = client_of(getattr(scene.cast, who)).get(page)
    assert answer.status_code == 200
    told = text_of(answer).lower().replace("van 12”", "")  # the question is repeated
    assert not any(word in told for word in ("alder", "birch", "van 12", "qz-77"))


def test_birch_sees_none_of_alders_flags(scene: Scene, client_of: ClientOf) -> None:
    assert "QZ-77-KL" in text_of(client_of(scene.cast.owner).get("/early-failures/"))
    assert "QZ-77-KL" not in text_of(client_of(scene.cast.at_birch).get("/early-failures/"))


def test_a_missing_page_is_a_page(scene: Scene, alder: Client) -> None:
    answer = alder.get("/no-such-page/")
    assert answer.status_code == 404
    assert "Nothing is here" in text_of(answer)


@pytest.mark.parametrize("page", PAGES)
def test_pages_are_only_read(scene: Scene, alder: Client, page: str) -> None:
    assert alder.post(address(page, scene)).status_code == 405

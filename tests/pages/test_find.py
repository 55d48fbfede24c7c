"""The start page: find a vehicle, newest flags, families."""

import pytest
from django.test import Client

from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of
from tests.records.factories import MembershipFactory, OrganisationFactory


@pytest.mark.parametrize(
    "wanted", ["QZ-77-KL", "qz 77 kl", "QX1234", "0abtest0000000012", "van 12"]
)
def test_one_exact_hit_leads_straight_to_the_vehicle(
    scene: Scene, alder: Client, wanted: str
) -> None:
    answer = alder.get("/", {"q": wanted})
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/vehicles/{scene.van.pk}/")


def test_a_piece_gives_a_list(scene: Scene, alder: Client) -> None:
    answer = alder.get("/", {"q": "z77"})
    assert answer.status_code == 200
    assert "1 vehicle with “z77”" in text_of(answer)
    assert f'href="/vehicles/{scene.van.pk}/"' in answer.content.decode()


def test_nothing_found_says_what_to_do(scene: Scene, alder: Client) -> None:
    told = text_of(alder.get("/", {"q": "QB 7777"}))  # a vehicle of Birch
    assert "No vehicle found" in told
    assert "Check 0 against O" in told


def test_what_was_typed_is_not_taken_for_markup(scene: Scene, alder: Client) -> None:
    page = alder.get("/", {"q": "<script>alert(1)</script>"}).content.decode()
    assert "<script>alert" not in page


def test_the_start_names_newest_flags_and_families(scene: Scene, alder: Client) -> None:
    told = text_of(alder.get("/"))
    assert "1 vehicle flagged" in told
    assert "Three failures in" in told
    assert "Alder 16" in told
    assert "Birch 20" not in told  # no vehicle of Alder has it


def test_a_register_without_records_says_how_to_begin(db: None, client_of: ClientOf) -> None:
    member = MembershipFactory(organisation=OrganisationFactory(code="empty"))
    assert "There are no records yet" in text_of(client_of(member.user).get("/"))


def test_who_belongs_nowhere_is_told_so(scene: Scene, client_of: ClientOf) -> None:
    assert "not a member of any organisation" in text_of(client_of(scene.cast.stranger).get("/"))

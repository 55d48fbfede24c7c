"""The page of the words of trouble codes: own ones set and removed by owners."""

import pytest
from django.test import Client

from garage.evidence.codes.meanings import groups, shipped_meanings
from garage.records.models import OwnCodeWording
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.pages.test_query_counts import queries_of
from tests.records.evidence_factories import OwnCodeWordingFactory

#: Baseline; a higher number needs a reason, a lower one belongs here.
WORDS = 10
PAGE = "/code-words/"


@pytest.fixture
def owner(scene: Scene, client_of: ClientOf) -> Client:
    return client_of(scene.cast.owner)


def sent(scene: Scene, **changed: object) -> dict[str, object]:
    said = {"organisation": scene.cast.alder.pk, "code": "p1a2b", "engine_family": ""}
    return {**said, "words": "burn put off", "group": "burn", "source": "own list", **changed}


def test_every_code_shipped_is_listed_under_its_group(alder: Client) -> None:
    answer = alder.get(PAGE)
    told = text_of(answer)
    for title in groups().values():
        assert title.lower() in told.lower()
    for code, meaning in shipped_meanings().items():
        assert f"{code} {meaning.words}" in told
    assert "From memory of SAE J2012; check against the licensed list" in told
    assert "From memory of SAE J1939-71" in told
    assert leaks_in(answer) == []


def test_own_words_are_set_for_one_family(scene: Scene, owner: Client) -> None:
    said = sent(scene, engine_family=scene.family.pk)
    told = text_of(owner.post(PAGE, said, follow=True))
    assert "The words are kept" in told
    assert "P1A2B Burn put off Alder 16" in told
    assert "No words are shipped for it. Says so: own list." in told


def test_own_words_say_what_they_take_the_place_of(scene: Scene, owner: Client) -> None:
    told = text_of(owner.post(PAGE, sent(scene, code="P2463"), follow=True))
    assert "In place of: filter restricted, soot." in told
    assert "all engine families" in told


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"code": "P2O63"}, "send P2063"),
        ({"group": "mood"}, "mood is not one of the available choices"),
        ({"source": ""}, "This field is required"),
    ],
)
def test_words_that_cannot_be_come_back_with_why(
    scene: Scene, owner: Client, changed: dict[str, str], words: str
) -> None:
    answer = owner.post(PAGE, sent(scene, **changed))
    assert words in text_of(answer)
    assert b'value="burn put off"' in answer.content
    assert not OwnCodeWording.objects.exists()


def test_form_starts_from_the_code_asked_for(owner: Client) -> None:
    assert b'value="P1999"' in owner.get(PAGE, {"code": "P1999"}).content


def test_own_words_are_removed(scene: Scene, owner: Client) -> None:
    own = OwnCodeWordingFactory(organisation=scene.cast.alder)
    told = text_of(owner.post(f"{PAGE}{own.pk}/remove/", follow=True))
    assert "The words are removed." in told
    assert not OwnCodeWording.objects.exists()


def test_technician_reads_but_sets_nothing(scene: Scene, client_of: ClientOf) -> None:
    own = OwnCodeWordingFactory(organisation=scene.cast.alder)
    client = client_of(scene.cast.technician)
    told = text_of(client.get(PAGE))
    assert "Burn too long" in told
    assert "Keep the words" not in told
    assert client.post(f"{PAGE}{own.pk}/remove/").status_code == 403
    client.post(PAGE, sent(scene))
    assert OwnCodeWording.objects.get() == own


def test_words_of_another_organisation_do_not_exist(scene: Scene, owner: Client) -> None:
    own = OwnCodeWordingFactory(organisation=scene.cast.birch, words="secret words")
    assert "secret words" not in text_of(owner.get(PAGE)).lower()
    assert owner.post(f"{PAGE}{own.pk}/remove/").status_code == 404
    assert OwnCodeWording.objects.exists()


@pytest.mark.parametrize("count", [3, 30])
def test_words_read_as_often_whatever_is_kept(scene: Scene, owner: Client, count: int) -> None:
    for number in range(count):
        OwnCodeWordingFactory(organisation=scene.cast.alder, code=f"P1{number:03X}")
    assert queries_of(owner, PAGE) <= WORDS

"""The page of the limits: told with their basis, own ones set and removed by owners."""

import pytest
from django.test import Client

from garage.evidence.limits_shipped import GROUPS, SHIPPED
from garage.records.models import OwnThreshold
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.pages.test_query_counts import queries_of
from tests.records.evidence_factories import OwnThresholdFactory

#: Baseline; a higher number needs a reason, a lower one belongs here.
LIMITS = 10
PAGE = "/limits/"


@pytest.fixture
def owner(scene: Scene, client_of: ClientOf) -> Client:
    return client_of(scene.cast.owner)


def sent(scene: Scene, **changed: object) -> dict[str, object]:
    said = {"organisation": scene.cast.alder.pk, "key": "zero_good_mbar", "engine_family": ""}
    return {**said, "value": "1.5", "source": "own gauge", **changed}


def test_every_limit_is_told_with_its_basis_and_range(alder: Client) -> None:
    answer = alder.get(PAGE)
    told = text_of(answer)
    for group in GROUPS:
        assert group.title in told
        for limit in group.limits:
            assert f'id="limit-{limit.key}"'.encode() in answer.content
    assert "2 mbar Common practice, no source (field values of cars" in told
    assert "An own value lies from 0.1 to 10 mbar" in told
    assert leaks_in(answer) == []


def test_words_choose_the_limits_shown(alder: Client) -> None:
    content = alder.get(PAGE, {"words": "Zero GRADED"}).content
    assert b"limit-zero_good_mbar" in content
    assert b"limit-zero_most_mbar" in content
    assert b"limit-raised_severe_mbar" not in content
    assert "No limit is so." in text_of(alder.get(PAGE, {"words": "zero turbine"}))


def test_own_ones_can_be_shown_alone(scene: Scene, alder: Client) -> None:
    OwnThresholdFactory(organisation=scene.cast.alder)
    content = alder.get(PAGE, {"own": "on"}).content
    assert b"limit-zero_good_mbar" in content
    assert b"limit-zero_most_mbar" not in content


def test_own_limit_is_set_for_one_family(scene: Scene, owner: Client) -> None:
    said = sent(scene, engine_family=scene.family.pk)
    told = text_of(owner.post(PAGE, said, follow=True))
    assert "The own limit is kept" in told
    assert "1.5 mbar for Alder 16. Says so: own gauge." in told
    kept = OwnThreshold.objects.get()
    assert (kept.organisation, kept.engine_family) == (scene.cast.alder, scene.family)


def test_limit_chosen_in_the_address_stands_in_the_form(owner: Client) -> None:
    content = owner.get(PAGE, {"limit": "raised_severe_mbar"}).content
    assert b'<option value="raised_severe_mbar" selected>' in content


def test_refused_limit_comes_back_with_why(scene: Scene, owner: Client) -> None:
    answer = owner.post(PAGE, sent(scene, value="11", source="new gauge"))
    assert "lies from 0.1 to 10 mbar; got" in text_of(answer)
    assert b'value="new gauge"' in answer.content
    assert not OwnThreshold.objects.exists()


def test_anothers_family_is_not_offered(scene: Scene, owner: Client) -> None:
    answer = owner.post(PAGE, sent(scene, engine_family=scene.birch_family.pk))
    assert "Select a valid choice" in text_of(answer)
    assert not OwnThreshold.objects.exists()


def test_own_limit_is_removed(scene: Scene, owner: Client) -> None:
    own = OwnThresholdFactory(organisation=scene.cast.alder)
    told = text_of(owner.post(f"/limits/{own.pk}/remove/", follow=True))
    assert "The own limit is removed." in told
    assert not OwnThreshold.objects.exists()


def test_limit_that_may_not_be_removed_stays_with_why(scene: Scene, owner: Client) -> None:
    own = OwnThresholdFactory(organisation=scene.cast.alder, key="zero_most_mbar", value=8.0)
    OwnThresholdFactory(organisation=scene.cast.alder, value=6.0)
    told = text_of(owner.post(f"/limits/{own.pk}/remove/", follow=True))
    assert "Set the other one first" in told
    assert OwnThreshold.objects.filter(pk=own.pk).exists()


def test_own_limit_that_holds_for_nothing_is_told_and_can_be_removed(
    scene: Scene, owner: Client
) -> None:
    own = OwnThresholdFactory(organisation=scene.cast.alder, key="gone_mbar")
    answer = owner.get(PAGE)
    assert "No such limit is held against any more" in text_of(answer)
    assert f"/limits/{own.pk}/remove/".encode() in answer.content


@pytest.mark.parametrize("who", ["technician", "viewer"])
def test_only_owners_may_set_or_remove(scene: Scene, client_of: ClientOf, who: str) -> None:
    own = OwnThresholdFactory(organisation=scene.cast.alder, value=1.9)
    client = client_of(getattr(scene.cast, who))
    assert "Set an own" not in text_of(client.get(PAGE))
    assert client.post(PAGE, sent(scene)).status_code == 200
    assert client.post(f"/limits/{own.pk}/remove/").status_code == 403
    assert OwnThreshold.objects.get().value == 1.9


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_own_limit_answers_as_none(scene: Scene, client_of: ClientOf, who: str) -> None:
    own = OwnThresholdFactory(organisation=scene.cast.alder, source="Alder's own gauge")
    client = client_of(getattr(scene.cast, who))
    assert "own gauge" not in text_of(client.get(PAGE))
    client.post(PAGE, sent(scene))
    assert client.post(f"/limits/{own.pk}/remove/").status_code == 404
    assert OwnThreshold.objects.get().value == own.value


@pytest.mark.parametrize("count", [3, 30])
def test_reads_as_often_however_many_are_own(scene: Scene, owner: Client, count: int) -> None:
    finite = [key for key in SHIPPED if SHIPPED.told(key).most < float("inf")]
    for key in finite[:count]:
        OwnThresholdFactory(
            organisation=scene.cast.alder,
            engine_family=scene.family,
            key=key,
            value=SHIPPED[key],
        )
    assert queries_of(owner, PAGE) == LIMITS

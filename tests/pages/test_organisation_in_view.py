"""The switch of the organisation in view."""

from django.test import Client

from garage.records.models import Membership
from tests.api.scene import Scene
from tests.pages.reading import text_of

SWITCH = "/organisation-in-view/"


def test_all_are_in_view_until_one_is_chosen(scene: Scene, at_both: Client) -> None:
    van, birch_van = (f"/vehicles/{each.pk}/" for each in (scene.van, scene.birch_van))
    assert [at_both.get(each).status_code for each in (van, birch_van)] == [200, 200]

    assert at_both.post(SWITCH, {"organisation": "birch"}).status_code == 302
    assert [at_both.get(each).status_code for each in (van, birch_van)] == [404, 200]
    assert "Van 12" not in text_of(at_both.get("/?q=van"))

    at_both.post(SWITCH, {"organisation": ""})
    assert [at_both.get(each).status_code for each in (van, birch_van)] == [200, 200]


def test_anothers_organisation_answers_as_one_that_does_not_exist(
    scene: Scene, alder: Client
) -> None:
    assert alder.post(SWITCH, {"organisation": "alder"}).status_code == 302
    anothers = alder.post(SWITCH, {"organisation": "birch"})
    nothing = alder.post(SWITCH, {"organisation": "nowhere"})
    assert anothers.status_code == nothing.status_code == 404
    assert anothers.content == nothing.content


def test_a_choice_ends_with_the_membership(scene: Scene, at_both: Client) -> None:
    at_both.post(SWITCH, {"organisation": "birch"})
    Membership.objects.filter(user=scene.cast.at_both, organisation=scene.cast.birch).delete()
    assert at_both.get(f"/vehicles/{scene.birch_van.pk}/").status_code == 404
    assert at_both.get(f"/vehicles/{scene.van.pk}/").status_code == 200


def test_the_switch_is_offered_only_to_who_has_a_choice(
    scene: Scene, at_both: Client, alder: Client
) -> None:
    assert 'name="organisation"' in at_both.get("/").content.decode()
    assert 'name="organisation"' not in alder.get("/").content.decode()


def test_the_switch_needs_the_forms_token(scene: Scene) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(scene.cast.at_both)
    answer = client.post(SWITCH, {"organisation": "birch"})
    assert answer.status_code == 403
    assert "The form was not accepted" in text_of(answer)

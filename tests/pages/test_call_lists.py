"""Call lists on the pages: drawn, called, answered."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from garage.records.models import Call, CallList, Keeper
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of
from tests.records.factories import JobFactory, VehicleFactory


@pytest.fixture
def drawn(scene: Scene, technician: Client) -> CallList:
    vehicle = VehicleFactory(organisation=scene.cast.alder, ref="silent one")
    JobFactory(vehicle=vehicle, opened_on=timezone.localdate() - timedelta(days=500))
    said = {
        "organisation": scene.cast.alder.pk,
        "part_kind": "particulate_filter",
        "silent_since_days": 400,
        "size": 500,
    }
    assert technician.post("/call-lists/", said).status_code == 302
    return CallList.objects.get()


def test_call_list_is_drawn_and_listed(drawn: CallList, technician: Client) -> None:
    assert drawn.population == drawn.calls.count() >= 1
    assert "particulate filter" in text_of(technician.get("/call-lists/"))
    told = text_of(technician.get(f"/call-lists/{drawn.pk}/"))
    assert "silent one" in told
    assert "No keeper is on record" in told


def test_call_list_figures_are_not_known_before_anybody_answered(
    drawn: CallList, technician: Client
) -> None:
    assert "not known yet" in text_of(technician.get(f"/call-lists/{drawn.pk}/"))


def test_call_list_for_anothers_organisation_is_refused(scene: Scene, technician: Client) -> None:
    said = {
        "organisation": scene.cast.birch.pk,
        "part_kind": "particulate_filter",
        "silent_since_days": 400,
        "size": 5,
    }
    answer = technician.post("/call-lists/", said)
    assert answer.status_code == 200
    assert not CallList.objects.exists()


def test_call_list_is_not_drawn_by_who_may_only_look(scene: Scene, alder: Client) -> None:
    said = {
        "organisation": scene.cast.alder.pk,
        "part_kind": "particulate_filter",
        "silent_since_days": 1,
        "size": 5,
    }
    assert alder.post("/call-lists/", said).status_code == 403


def test_call_is_answered(drawn: CallList, technician: Client) -> None:
    call = drawn.calls.get(vehicle__ref="silent one")
    Keeper.objects.create(vehicle=call.vehicle, name="Sample Keeper", phone="555 01")
    assert "Sample Keeper" in text_of(technician.get(f"/call-lists/{drawn.pk}/"))
    today = timezone.localdate().isoformat()
    answer = technician.post(
        f"/calls/{call.pk}/",
        {
            "state": "answered",
            "called_on": today,
            "outcome": "goes_elsewhere",
            "part_replaced_elsewhere": "yes",
            "will_return": "no",
            "asked_systems": "on",
        },
        follow=True,
    )
    assert "The answer is kept" in text_of(answer)
    call.refresh_from_db()
    assert (call.part_replaced_elsewhere, call.will_return) == (True, False)
    assert call.repaired_elsewhere == []


def test_call_not_asked_stays_not_known(drawn: CallList, technician: Client) -> None:
    call = drawn.calls.get(vehicle__ref="silent one")
    said = {
        "state": "answered",
        "called_on": timezone.localdate().isoformat(),
        "outcome": "still_customer",
    }
    assert technician.post(f"/calls/{call.pk}/", said).status_code == 302
    call.refresh_from_db()
    assert call.part_replaced_elsewhere is None
    assert call.repaired_elsewhere is None


def test_call_answer_that_cannot_be_says_why(drawn: CallList, technician: Client) -> None:
    call = drawn.calls.get(vehicle__ref="silent one")
    said = {"state": "declined", "called_on": timezone.localdate().isoformat(), "outcome": "sold"}
    answer = technician.post(f"/calls/{call.pk}/", said)
    assert "only an answered call has answers" in text_of(answer)
    assert Call.objects.get(pk=call.pk).state == "waiting"


def test_calls_of_another_are_not_found(drawn: CallList, client_of: ClientOf, scene: Scene) -> None:
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"/call-lists/{drawn.pk}/").status_code == 404
    assert cedar.get(f"/calls/{drawn.calls.first().pk}/").status_code == 404

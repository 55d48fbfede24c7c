"""The audit trail on its page: for owners alone."""

from datetime import UTC, datetime

import pytest
from django.test import Client

from garage.records.services.jobs import JobFacts, NewJob, job_open
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def owner(scene: Scene, client_of: ClientOf) -> Client:
    return client_of(scene.cast.owner)


def test_owners_read_the_trail_of_their_own(scene: Scene, owner: Client) -> None:
    new = NewJob(AT.date(), JobFacts("air", complaint="whistles badly"))
    job_open(vehicle=scene.van, new=new, at=AT, by=scene.cast.technician)
    page = f"/organisations/{scene.cast.alder.pk}/changes/"
    assert page in owner.get("/").content.decode()
    told = text_of(owner.get(page))
    assert f"{scene.cast.technician.username} job" in told
    assert "whistles" not in told


def test_nobody_else_does(scene: Scene, client_of: ClientOf, alder: Client) -> None:
    page = f"/organisations/{scene.cast.alder.pk}/changes/"
    assert page not in alder.get("/").content.decode()
    assert alder.get(page).status_code == 403
    assert client_of(scene.cast.at_cedar).get(page).status_code == 404

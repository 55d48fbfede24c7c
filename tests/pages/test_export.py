"""The page that gives an organisation's records to its owners, and to nobody else."""

import io
import zipfile

import pytest
from django.test import Client

from garage.records.models import AuditEntry
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of


@pytest.fixture
def owner(scene: Scene, client_of: ClientOf) -> Client:
    return client_of(scene.cast.owner)


def test_owner_downloads_the_records(scene: Scene, owner: Client) -> None:
    assert 'href="/export/"' in owner.get("/").content.decode()
    told = text_of(owner.get("/export/"))
    assert f"Download the records of {scene.cast.alder.name}" in told
    assert scene.cast.birch.name not in told
    answer = owner.post(f"/export/{scene.cast.alder.pk}/")
    assert answer.status_code == 200
    assert answer["Content-Disposition"].startswith('attachment; filename="alder-')
    assert answer["Cache-Control"] == "private, no-store"
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        assert archive.namelist()[-1] == "records.json"
        assert scene.van.ref in archive.read("vehicles.csv").decode()
    entry = AuditEntry.objects.get(organisation=scene.cast.alder, verb="export")
    assert entry.by == scene.cast.owner


def test_technician_is_refused(scene: Scene, client_of: ClientOf) -> None:
    client = client_of(scene.cast.technician)
    assert 'href="/export/"' not in client.get("/").content.decode()
    answer = client.get("/export/")
    assert answer.status_code == 403
    assert "Only an owner" in text_of(answer)
    assert client.post(f"/export/{scene.cast.alder.pk}/").status_code == 403
    assert not AuditEntry.objects.filter(verb="export").exists()


def test_organisation_of_others_is_not_there(scene: Scene, owner: Client) -> None:
    assert owner.post(f"/export/{scene.cast.birch.pk}/").status_code == 404
    assert owner.post("/export/999999/").status_code == 404


def test_looking_takes_nothing_out(scene: Scene, owner: Client) -> None:
    assert owner.get(f"/export/{scene.cast.alder.pk}/").status_code == 405
    assert not AuditEntry.objects.filter(verb="export").exists()

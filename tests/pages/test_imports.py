"""Import runs on their pages: sent, watched, cancelled, read, and kept from others."""

import io
from datetime import UTC, datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from garage.records.import_folders import RunFolder, RunProgress
from garage.records.models import ImportRun, Vehicle
from garage.records.services.import_runs import SentFile, files_run_queue, import_run_do
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
VEHICLES = "vehicle_ref,registration\nNew 1,QX 1\n,QX 2\n"
#: Queries of the list, whether it is long or short.
LIST = 6


@pytest.fixture
def run(scene: Scene) -> ImportRun:
    return queue(scene)


def queue(scene: Scene) -> ImportRun:
    content = VEHICLES.encode()
    sent = SentFile("vehicles", "out.csv", io.BytesIO(content), len(content))
    return files_run_queue(
        organisation=scene.cast.alder, files=[sent], dry_run=False, at=AT, by=scene.cast.technician
    )


def send(client: Client, organisation_id: int, **more) -> HttpResponse:
    file = SimpleUploadedFile("out.csv", VEHICLES.encode())
    said = {"organisation": organisation_id, "vehicles": file} | more
    return client.post("/imports/", said, follow=True)


def do(run: ImportRun) -> None:
    import_run_do(run_id=run.pk, clock=lambda: AT)


def test_files_are_sent_and_their_run_waits(scene: Scene, technician: Client) -> None:
    answer = send(technician, scene.cast.alder.pk)
    run = ImportRun.objects.get()
    assert answer.redirect_chain == [(f"/imports/{run.pk}/", 302)]
    assert "It waits for its turn" in text_of(answer)
    assert "renew.js" in answer.content.decode()
    assert (run.by, run.dry_run) == (scene.cast.technician, False)


def test_try_is_told_apart(scene: Scene, technician: Client) -> None:
    send(technician, scene.cast.alder.pk, dry_run="on")
    run = ImportRun.objects.get()
    do(run)
    assert "A try: nothing was recorded" in text_of(technician.get(f"/imports/{run.pk}/"))
    assert "a try" in text_of(technician.get("/imports/"))
    assert not Vehicle.objects.filter(ref="New 1").exists()


def test_without_a_file_it_is_refused_in_words(scene: Scene, technician: Client) -> None:
    answer = technician.post("/imports/", {"organisation": scene.cast.alder.pk})
    assert "an import has at least one file" in text_of(answer)
    assert not ImportRun.objects.exists()


def test_run_on_its_way_says_how_far_it_is(run: ImportRun, technician: Client) -> None:
    ImportRun.objects.update(state="running")
    assert "It has begun" in text_of(technician.get(f"/imports/{run.pk}/"))
    RunFolder(run.folder).progress_write(RunProgress("vehicles", 20_000, 5_000))
    answer = technician.get(f"/imports/{run.pk}/")
    assert "Vehicles: 5 000 of 20 000" in text_of(answer)
    assert '<progress max="20000" value="5000"' in answer.content.decode()
    assert leaks_in(answer) == []


def test_run_that_is_done_tells_what_came_and_gives_its_rejected_rows(
    run: ImportRun, technician: Client
) -> None:
    do(run)
    answer = technician.get(f"/imports/{run.pk}/")
    told = text_of(answer)
    assert "It is recorded; some rows wait" in told
    assert "1 row applied" in told
    assert "1 row rejected" in told
    assert "New: 1 vehicles" in told
    assert "renew.js" not in answer.content.decode()
    assert leaks_in(answer) == []
    rejected = technician.get(f"/imports/{run.pk}/rejected/vehicles/")
    assert rejected["Cache-Control"] == "private, no-store"
    assert "QX 2" in b"".join(rejected.streaming_content).decode()
    assert technician.get(f"/imports/{run.pk}/rejected/jobs/").status_code == 404
    RunFolder(run.folder).clear()
    assert technician.get(f"/imports/{run.pk}/rejected/vehicles/").status_code == 404


def test_run_is_cancelled(run: ImportRun, technician: Client) -> None:
    ImportRun.objects.update(state="running")
    answer = technician.post(f"/imports/{run.pk}/cancel/", follow=True)
    told = text_of(answer)
    assert "It is being stopped" in told
    assert "Stop it" not in told
    ImportRun.objects.update(state="queued")
    do(run)
    run.refresh_from_db()
    assert run.state == "cancelled"
    assert "nothing was recorded" in text_of(technician.get(f"/imports/{run.pk}/"))
    again = technician.post(f"/imports/{run.pk}/cancel/", follow=True)
    assert "a run is cancelled before it is over" in text_of(again)


def test_viewer_reads_and_does_nothing(scene: Scene, run: ImportRun, alder: Client) -> None:
    told = text_of(alder.get(f"/imports/{run.pk}/"))
    assert "It waits for its turn" in told
    assert "Stop it" not in told
    assert alder.post(f"/imports/{run.pk}/cancel/").status_code == 403
    assert send(alder, scene.cast.alder.pk).status_code == 403
    assert ImportRun.objects.count() == 1


def test_run_of_others_is_not_there(scene: Scene, run: ImportRun, client_of: ClientOf) -> None:
    do(run)
    cedar = client_of(scene.cast.at_cedar)
    for page in ("", "rejected/vehicles/"):
        assert cedar.get(f"/imports/{run.pk}/{page}").status_code == 404
    assert cedar.post(f"/imports/{run.pk}/cancel/").status_code == 404
    assert "out.csv" not in text_of(cedar.get("/imports/"))
    assert "Select a valid choice" in text_of(send(cedar, scene.cast.alder.pk))


@pytest.mark.parametrize("runs", [3, 25])
def test_list_asks_the_database_as_often_for_many_runs(
    scene: Scene, technician: Client, runs: int
) -> None:
    for _ in range(runs):
        queue(scene)
    with CaptureQueriesContext(connection) as asked:
        assert technician.get("/imports/").status_code == 200
    assert len(asked) == LIST


@pytest.mark.parametrize(
    ("error", "status"),
    [(OperationalError("database is locked"), 503), (OperationalError("disk full"), 500)],
)
def test_who_cannot_write_while_an_import_does_is_told(
    scene: Scene,
    technician: Client,
    monkeypatch: pytest.MonkeyPatch,
    error: OperationalError,
    status: int,
) -> None:
    def busy(**_said: object) -> ImportRun:
        raise error

    monkeypatch.setattr("garage.pages.views.imports.files_run_queue", busy)
    technician.raise_request_exception = False
    answer = send(technician, scene.cast.alder.pk)
    assert answer.status_code == status
    assert ("Retry-After" in answer) is (status == 503)
    if status == 503:
        assert "Nothing of what you sent was recorded" in text_of(answer)

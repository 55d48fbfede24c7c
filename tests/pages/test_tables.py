"""Somebody else's table on the pages: sent, mapped, looked at, imported."""

import html
import re
from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client

from garage.records.models import ImportRun, ImportSource, Operation, TableUpload
from garage.records.services.import_runs import import_run_do
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of
from tests.records.tables_sent import MESSY

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def upload(scene: Scene, technician: Client) -> TableUpload:
    send(technician, scene.cast.alder.pk)
    return TableUpload.objects.get()


def send(client: Client, organisation: int, text: str = MESSY) -> Any:
    content = SimpleUploadedFile("out.csv", text.encode())
    said = {"organisation": organisation, "source_name": "till", "content": content}
    return client.post("/tables/", said, follow=True)


def said_by(page: str) -> dict[str, str]:
    """What the mapping form of a page would send as it stands."""
    form = page.split('class="mapping"')[1].split("</form>")[0]
    said = {}
    for name, body in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', body)
        said[name] = html.unescape(chosen[1]) if chosen else ""
    for name in re.findall(r'<input type="checkbox" name="([^"]+)"[^>]*checked', form):
        said[name] = "on"
    return said


def confirm(client: Client, upload: TableUpload, **changed: str) -> Any:
    """Say that it holds vehicles and jobs, twice: what the words mean is asked once it is known
    which column they come from."""
    page = f"/tables/{upload.pk}/"
    said = said_by(client.get(page).content.decode())
    said |= {"kind-vehicles": "on", "kind-jobs": "on", "use-jobs-operation": "from:3"}
    said |= {"use-jobs-system": "always:exhaust_aftertreatment", "use-jobs-note": ""}
    client.post(page, said)
    asked = said_by(client.get(page).content.decode())
    asked |= {"value-0-part_kind": "particulate_filter", "value-1-operation": "other"}
    asked |= {"value-1-part_kind": ""}
    return client.post(page, asked | {"setting-0": "comma"} | changed, follow=True)


def done_run(client: Client, answer: HttpResponse) -> HttpResponse:
    """The page of the run that was queued, once it is done."""
    run = ImportRun.objects.latest("pk")
    assert answer["Location"] == f"/imports/{run.pk}/"
    import_run_do(run_id=run.pk, clock=lambda: AT)
    return client.get(f"/imports/{run.pk}/")


def test_a_table_is_sent_and_what_it_may_be_is_proposed(scene: Scene, technician: Client) -> None:
    answer = send(technician, scene.cast.alder.pk)
    told = text_of(answer)
    assert "3 rows, 4 columns" in told
    assert "Mileage (km), decimal sign : no cell of the column proves any" in told


def test_what_is_no_table_is_refused_in_words(scene: Scene, technician: Client) -> None:
    told = text_of(send(technician, scene.cast.alder.pk, "PK\x03\x04 no workbook"))
    assert "a table is CSV or XLSX" in told
    assert not TableUpload.objects.exists()


def test_rows_that_wait_say_why(upload: TableUpload, technician: Client) -> None:
    told = text_of(confirm(technician, upload, **{"setting-0": ""}))
    assert "held odometer: 84.512 (84.51 or 84512)" in told


def test_a_table_is_mapped_tried_and_imported(upload: TableUpload, technician: Client) -> None:
    told = text_of(confirm(technician, upload))
    assert "held" not in told.split("as they would land")[1].split("Import")[0]
    tried = technician.post(f"/tables/{upload.pk}/import/", {"try": "yes"})
    assert "nothing was recorded. Every row would land" in text_of(done_run(technician, tried))
    assert not Operation.objects.filter(job__vehicle__ref="V1").exists()
    done = technician.post(f"/tables/{upload.pk}/import/")
    assert "Every row landed" in text_of(done_run(technician, done))
    assert Operation.objects.filter(kind="replace", job__vehicle__ref__in=("V1", "V2")).count() == 2
    told = text_of(technician.get("/tables/"))
    assert "till," in told
    assert "No table waits" in told


def test_a_mapping_that_lacks_what_is_needed_is_refused(
    upload: TableUpload, technician: Client
) -> None:
    told = text_of(confirm(technician, upload, **{"use-jobs-job_ref": ""}))
    assert "a jobs file needs job_ref" in told


def test_a_rule_for_some_rows_is_added_and_taken_back(
    upload: TableUpload, technician: Client
) -> None:
    page = f"/tables/{upload.pk}/rule/"
    rule = {"source": "Mileage (km)", "setting": "unit", "value": "mi"}
    where = {"when_source": "Vehicle", "when_equals": "V2"}
    assert "where Vehicle holds V2" in text_of(technician.post(page, rule | where, follow=True))
    refused = technician.post(page, rule | where | {"value": "leagues"})
    assert "a rule for unit says one of" in text_of(refused)
    technician.post(page, {"take_back": "yes"})
    upload.refresh_from_db()
    assert upload.mapping["rules"] == []


def test_a_table_is_let_go(upload: TableUpload, technician: Client) -> None:
    technician.post(f"/tables/{upload.pk}/discard/")
    assert not TableUpload.objects.exists()
    assert not ImportSource.objects.exists()


def test_who_may_not_write_may_not_send(upload: TableUpload, scene: Scene, alder: Client) -> None:
    assert send(alder, scene.cast.alder.pk).status_code == 403
    assert alder.get(f"/tables/{upload.pk}/").status_code == 403
    assert alder.post(f"/tables/{upload.pk}/import/").status_code == 403


def test_anothers_table_is_not_found(
    upload: TableUpload, scene: Scene, client_of: ClientOf
) -> None:
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"/tables/{upload.pk}/").status_code == 404
    for what in ("rule", "import", "discard"):
        assert cedar.post(f"/tables/{upload.pk}/{what}/").status_code == 404
    assert "out.csv" not in text_of(cedar.get("/tables/"))
    assert "Select a valid choice" in text_of(send(cedar, scene.cast.alder.pk))

"""The page of a job's logs: judged, sent in, taken out."""

from datetime import date
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.judged import drive_judged
from garage.evidence.drives.log import Drive, drive_read
from garage.evidence.drives.soot_rate import RateStatus
from garage.evidence.drives.targets import FilterSaid, targets_of
from garage.pages.drives_told import reach_words
from garage.pages.words import UNKNOWN
from garage.records.models import CautionConfirmed, DriveLogged, Job
from tests.api.scene import Scene, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.evidence_factories import DriveLoggedFactory, ReadingFactory
from tests.records.factories import VehicleFactory

EXAMPLE = Path(str(finders.find("pages/drive-example.csv"))).read_text(encoding="utf-8")


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    return visit(vehicle, date(2024, 5, 6), 141_250, planned=False)


def page_of(job: Job) -> str:
    return f"/jobs/{job.pk}/drives/"


def form(text: str = EXAMPLE, **changed: object) -> dict[str, object]:
    file = SimpleUploadedFile("log.csv", text.encode("cp1252"))
    said = {"add-log": file, "add-title": "60 km of open road", "add-phase": "after_work"}
    return said | changed


def test_example_that_is_offered_shows_what_a_log_can_tell() -> None:
    """Fails if the file that people start from cannot be read, or tells nothing."""
    drive = drive_read(EXAMPLE)
    assert (drive.faults, drive.remarks) == ((), ())
    judged = drive_judged(drive, targets_of(FilterSaid()))
    assert judged.rate.status is RateStatus.TOLD
    assert [each.burn.status for each in judged.burns] == [BurnStatus.COMPLETED]


def test_column_that_is_not_read_is_told_in_sight(job: Job, technician: Client) -> None:
    # Fails where a head that is not known looks as if nothing had been logged.
    DriveLoggedFactory(job=job, text="time_s,soot_g,warmth\n0,20,600\n15,19,600\n")
    content = technician.get(page_of(job)).content.decode()
    shown = content.split("<details open><summary>How the table was read</summary>")[1]
    assert "`warmth` is not used" in shown.split("</details>")[0]


def test_page_without_a_log_explains_the_form(job: Job, technician: Client) -> None:
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "No log yet" in told
    assert "Soot with time or distance is the least" in told
    assert b"drive-example" in answer.content
    assert leaks_in(answer) == []


def test_log_is_sent_in_and_judged(job: Job, technician: Client) -> None:
    answer = technician.post(page_of(job) + "add/", form(), follow=True)
    told = text_of(answer)
    assert "The log is kept" in told
    assert "Burn: completed" in told
    assert "After the work: 0.042" in told
    assert "Read the pressure across the filter" in told
    assert b"chart-log-" in answer.content
    assert leaks_in(answer) == []
    assert DriveLogged.objects.get(job=job).added_by is not None


def test_reach_rests_on_the_sizes_written_down(job: Job, technician: Client) -> None:
    DriveLoggedFactory(job=job, text=EXAMPLE)
    assert "own limit are not known" in text_of(technician.get(page_of(job)))
    ReadingFactory(job=job, quantity="soot_limit", value="20", unit="g", condition="")
    told = text_of(technician.get(page_of(job)))
    assert "own limit, 20 g" in told


def test_file_that_is_no_log_comes_back_with_why_and_what_was_typed(
    job: Job, technician: Client
) -> None:
    answer = technician.post(page_of(job) + "add/", form("mood,weather\ngood,fine\n"))
    told = text_of(answer)
    assert "names time or distance" in told
    assert b"60 km of open road" in answer.content
    assert not DriveLogged.objects.exists()


def test_form_without_a_file_comes_back(job: Job, technician: Client) -> None:
    sent = form()
    del sent["add-log"]
    assert b"This field is required" in technician.post(page_of(job) + "add/", sent).content
    assert not DriveLogged.objects.exists()


def test_rows_not_used_are_named_with_their_line(job: Job, technician: Client) -> None:
    DriveLoggedFactory(job=job, text=f"{EXAMPLE}later,1,1,1\n")
    told = text_of(technician.get(page_of(job)))
    assert "ine 123, time_s" in told
    assert "later" in told


def test_log_is_taken_out_and_one_of_another_job_is_not_found(job: Job, technician: Client) -> None:
    own, other = DriveLoggedFactory(job=job), DriveLoggedFactory()
    assert technician.post(page_of(job) + "remove/", {"remove-drive": other.pk}).status_code == 404
    technician.post(page_of(job) + "remove/", {"remove-drive": own.pk})
    assert list(DriveLogged.objects.all()) == [other]


def test_cautions_of_drive_and_burn_stand_before_the_step(job: Job, technician: Client) -> None:
    told = text_of(technician.get(page_of(job)))
    assert "a second person does" in told
    assert "Fire extinguisher at hand" in told
    sent = {"caution-procedure": "road_drive", "caution-name": "A. Tester"}
    technician.post(page_of(job) + "caution/", sent)
    assert CautionConfirmed.objects.get(job=job).procedure == "road_drive"


def test_intervals_of_the_vehicle_are_listed_with_where_from(job: Job, technician: Client) -> None:
    before = visit(job.vehicle, date(2024, 1, 6), 139_000, planned=False)
    ReadingFactory(job=before, quantity="burn_interval", value="430", unit="km", condition="")
    ReadingFactory(job=job, quantity="distance_since_burn", value="90", unit="km", condition="")
    told = text_of(technician.get(page_of(job)))
    assert "430 km, one interval" in told
    assert "90 km or more since the last burn" in told


def test_evidence_links_to_the_page(job: Job, technician: Client) -> None:
    assert page_of(job).encode() in technician.get(f"/jobs/{job.pk}/evidence/").content


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_job_answers_as_none(
    scene: Scene, job: Job, client_of: ClientOf, who: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    assert client.get(page_of(job)).status_code == 404
    assert client.post(page_of(job) + "add/", form()).status_code == 404
    assert not DriveLogged.objects.exists()


def test_viewer_reads_but_writes_nothing(scene: Scene, job: Job, client_of: ClientOf) -> None:
    client = client_of(scene.cast.viewer)
    assert "Add a log" not in text_of(client.get(page_of(job)))
    assert client.post(page_of(job) + "add/", form()).status_code == 403
    assert not DriveLogged.objects.exists()


def test_unknown_form_is_not_found(job: Job, technician: Client) -> None:
    assert technician.post(page_of(job) + "mood/", {}).status_code == 404


@pytest.mark.parametrize("count", [3, 30])
def test_reads_as_often_whatever_was_logged(
    job: Job, technician: Client, count: int, django_assert_max_num_queries: object
) -> None:
    for _ in range(count):
        DriveLoggedFactory(job=job)
        ReadingFactory(job=job, quantity="burn_interval", value="430", unit="km", condition="")
    with django_assert_max_num_queries(18):  # type: ignore[operator]
        technician.get(page_of(job))


@pytest.mark.parametrize(
    ("soot", "said"),
    [((-1.0, -0.5), UNKNOWN), ((1.0, 1.0), "not within reach")],
)
def test_distance_to_a_burn_is_not_known_where_soot_is_no_mass(
    soot: tuple[float, float], said: str
) -> None:
    """Fails if a soot that cannot be is told as a burn out of reach."""
    km = tuple(row / 10 for row in range(601))
    rest = (soot[1],) * 600
    log = Drive(601, distance_km=km, soot_g=(soot[0], *rest))
    judged = drive_judged(log, targets_of(FilterSaid(trigger_g=20.0)))
    assert reach_words(judged.to_burn) == said

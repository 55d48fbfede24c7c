"""A workshop's day on the pages: a job opened, worked on, closed, looked up again."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from garage.pages.sheets.job import job_sheet_data, job_sheet_pdf
from garage.records.jobs import job_sheet
from garage.records.models import (
    AdviceGiven,
    ComebackReview,
    Document,
    Fitment,
    Job,
    LookMissed,
    Operation,
    PartKind,
    Reading,
    Recheck,
    Vehicle,
)
from garage.records.services.settle import vehicles_settle
from tests.api.scene import Scene, operation, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.evidence_factories import ReadingFactory, TroubleCodeReadFactory
from tests.records.factories import OdometerReadingFactory, VehicleFactory

JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\x00" * 100
OPENED = {
    "opened_on": "2024-05-06",
    "odometer": "141250",
    "unit": "km",
    "system": "exhaust_aftertreatment",
    "planned": "no",
    "complaint": "lamp on",
    "elsewhere": ["none"],
    "look-0-answer": "same",
}


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    job = visit(vehicle, date(2024, 5, 6), 141_250, planned=False)
    Job.objects.filter(pk=job.pk).update(closed_on=None)
    job.refresh_from_db()
    return job


def the_filter() -> PartKind:
    return PartKind.objects.get(code="particulate_filter")


def new_job(client: Client, vehicle: Vehicle, **changed: Any) -> Any:
    return client.post(f"/vehicles/{vehicle.pk}/jobs/new/", OPENED | changed, follow=True)


# --- Opening ---


def test_opening_asks_for_one_look_and_says_what_is_on_record(
    scene: Scene, technician: Client
) -> None:
    answer = technician.get(f"/vehicles/{scene.van.pk}/jobs/new/")
    told = text_of(answer)
    assert "On record in place: new, aftermarket, fitted" in told
    assert "not looked" in told
    assert leaks_in(answer) == []


def test_a_job_is_opened_with_its_look_and_photo(scene: Scene, technician: Client) -> None:
    photo = SimpleUploadedFile("x.jpg", JPEG)
    answer = new_job(technician, scene.van, photo=photo, **{"look-0-mark": "P 17"})
    job = Job.objects.get(ref="240506-1")
    assert "The job is open" in text_of(answer)
    assert job.repaired_elsewhere == []
    assert job.technician_id == scene.cast.technician.pk
    assert job.operations.get().found_in_place == "same"
    assert Document.objects.get().job_id == job.pk
    assert Fitment.objects.get(vehicle=scene.van, removed_at=None).mark == "P 17"


def test_a_part_no_record_tells_of_is_stated(job: Job, technician: Client) -> None:
    answer = technician.get(f"/vehicles/{job.vehicle_id}/jobs/new/")
    assert "No record tells which particulate filter" in text_of(answer)
    new_job(technician, job.vehicle, **{"look-0-answer": "reconditioned"})
    assert Fitment.objects.get(vehicle=job.vehicle).origin == "reconditioned"


@pytest.mark.parametrize("look", ["same", "not_looked"])
def test_not_looked_is_an_answer_too(scene: Scene, technician: Client, look: str) -> None:
    new_job(technician, scene.van, **{"look-0-answer": look})
    assert LookMissed.objects.count() == (look == "not_looked")


def test_a_job_that_cannot_be_opened_says_why_and_keeps_what_was_typed(
    scene: Scene, technician: Client
) -> None:
    before = Job.objects.count()
    photo = SimpleUploadedFile("x.jpg", b"no photo at all")
    answer = new_job(technician, scene.van, photo=photo, opened_on="2099-01-01")
    told = text_of(answer)
    assert "a day lies between" in told
    assert "lamp on" in answer.content.decode()
    assert new_job(technician, scene.van, photo=photo).status_code == 200
    assert (Job.objects.count(), Document.objects.count()) == (before, 0)


def test_nothing_and_something_repaired_elsewhere_cannot_be(
    scene: Scene, technician: Client
) -> None:
    answer = new_job(technician, scene.van, elsewhere=["none", "fuel"])
    assert "Nothing and something were both ticked" in text_of(answer)


# --- Working on it ---


def write(client: Client, job: Job, what: str, **said: Any) -> Any:
    sent = {f"{what}-{name}": value for name, value in said.items()}
    return client.post(f"/jobs/{job.pk}/{what}/", sent, follow=True)


def replaced(client: Client, job: Job, **more: Any) -> Any:
    said = {"operation": "replace", "part_kind": the_filter().pk, "unit": "km"}
    return write(client, job, "operation", **said, **more)


def test_a_job_is_worked_on_and_closed(job: Job, technician: Client) -> None:
    answer = replaced(
        technician, job, part_origin="new_original", labour_cost="120.50", parts_cost="900",
        currency="EUR",
    )  # fmt: skip
    told = text_of(answer)
    assert "replace: particulate filter" in told
    assert "1020.50 EUR" in told
    assert "Was the old particulate filter the one last recorded?" in told
    write(technician, job, "reading", quantity="soot_mass", value="8.50", unit="g", phase="arrival")
    assert "8.5 g" in text_of(technician.get(f"/jobs/{job.pk}/"))
    write(technician, job, "advice", text="renew the hoses")
    refused = write(technician, job, "close", closed_on="2024-05-07")
    assert "replaced or cleaned for a cause" in text_of(refused)
    closed = write(technician, job, "close", closed_on="2024-05-07", cause="not_found")
    assert "Closed on 7 May 2024" in text_of(closed).replace("\u00a0", " ")
    assert Recheck.objects.filter(job=job).exists()
    job.refresh_from_db()
    assert (job.cause, Reading.objects.count()) == ("not_found", 1)
    assert "looked for, not found 1" in text_of(technician.get("/causes/"))


def test_facts_are_changed_and_refused_in_place(job: Job, technician: Client) -> None:
    said = {"system": "exhaust_aftertreatment", "planned": "no", "unit": "km"}
    write(technician, job, "facts", **said, complaint="smoke", elsewhere=["fuel", "air"])
    job.refresh_from_db()
    assert (job.complaint, job.repaired_elsewhere) == ("smoke", ["air", "fuel"])
    refused = write(technician, job, "facts", **said, odometer="14125")
    assert "stays as it was typed" in text_of(refused)
    job.refresh_from_db()
    assert job.complaint == "smoke"


def test_an_operation_is_changed_and_taken_off(job: Job, technician: Client) -> None:
    replaced(technician, job, note="two clamps")
    kept = Operation.objects.get(job=job)
    page = f"/operations/{kept.pk}/"
    assert 'value="two clamps"' in technician.get(page).content.decode()
    said = {"operation": "replace", "part_kind": the_filter().pk, "part_origin": "used"}
    assert technician.post(page, said).status_code == 302
    kept.refresh_from_db()
    assert (kept.part_origin, kept.note) == ("used", "")
    refused = technician.post(page, said | {"part_origin": "factory"})
    assert "not the factory" in text_of(refused)
    assert technician.post(page, {"remove": "yes"}).status_code == 302
    assert not Operation.objects.filter(job=job).exists()


def test_a_look_is_asked_until_it_is_taken(scene: Scene, technician: Client) -> None:
    new_job(technician, scene.van, **{"look-0-answer": "not_looked"})
    job = Job.objects.get(ref="240506-1")
    technician.post(f"/jobs/{job.pk}/look/", {"look-0-answer": "another", "look-0-mark": "Q 4"})
    assert job.operations.get().found_in_place == "another"
    assert not LookMissed.objects.exists()


def test_a_comeback_is_answered_on_the_job(scene: Scene, technician: Client) -> None:
    new_job(technician, scene.van)
    first = Job.objects.get(ref="240506-1")
    write(technician, first, "operation", operation="clear_codes", unit="km")
    write(technician, first, "close", closed_on="2024-05-06")
    answer = new_job(technician, scene.van, opened_on="2024-06-01")
    assert "Is it a comeback?" in text_of(answer)
    review = ComebackReview.objects.get(index_job=first)
    page = f"/comebacks/{review.pk}/"
    refused = technician.post(page, {f"comeback-{review.pk}-state": "refused"})
    assert "refused for a reason" in text_of(refused)
    technician.post(
        page,
        {f"comeback-{review.pk}-state": "refused", f"comeback-{review.pk}-reason": "a sensor"},
    )
    review.refresh_from_db()
    assert (review.state, review.reason) == ("refused", "a sensor")


def test_advice_is_answered_with_a_name(job: Job, technician: Client) -> None:
    write(technician, job, "advice", text="renew the hoses")
    advice = AdviceGiven.objects.get()
    page, name = f"/advice/{advice.pk}/", f"answer-{advice.pk}"
    refused = technician.post(page, {f"{name}-answer": "declined"})
    assert "This field is required" in text_of(refused)
    technician.post(page, {f"{name}-answer": "declined", f"{name}-answered_by": "A. Keeper"})
    assert "Declined by A. Keeper" in text_of(technician.get(f"/jobs/{job.pk}/"))


def test_a_closed_job_is_opened_again_for_a_reason(job: Job, technician: Client) -> None:
    write(technician, job, "close", closed_on="2024-05-06", findings="no fault found")
    assert "Open it again" in text_of(technician.get(f"/jobs/{job.pk}/"))
    write(technician, job, "reopen", reason="a line was forgotten")
    job.refresh_from_db()
    assert job.closed_on is None
    assert "a line was forgotten" in text_of(technician.get(f"/jobs/{job.pk}/"))


# --- Who may, and lists ---


def test_who_may_only_look_is_offered_nothing(job: Job, alder: Client) -> None:
    answer = alder.get(f"/jobs/{job.pk}/")
    assert "<form" not in answer.content.decode().split("<main")[1].split("</main")[0]
    assert alder.get(f"/vehicles/{job.vehicle_id}/jobs/new/").status_code == 403
    assert alder.post(f"/jobs/{job.pk}/advice/", {"advice-text": "hoses"}).status_code == 403
    assert alder.post(f"/jobs/{job.pk}/look/").status_code == 403


def test_a_job_of_another_is_not_found(job: Job, scene: Scene, client_of: ClientOf) -> None:
    cedar = client_of(scene.cast.at_cedar)
    kept = Operation.objects.create(job=job, line=9, kind="inspect", system="service")
    for page in (f"/jobs/{job.pk}/", f"/operations/{kept.pk}/"):
        assert cedar.get(page).status_code == 404
    for page in (f"/jobs/{job.pk}/close/", f"/jobs/{job.pk}/look/"):
        assert cedar.post(page).status_code == 404
    assert job.ref not in text_of(cedar.get("/jobs/?state=all"))


def test_what_no_form_is_named_is_not_found(job: Job, technician: Client) -> None:
    assert technician.post(f"/jobs/{job.pk}/wishes/").status_code == 404


def test_open_jobs_are_listed_apart(job: Job, alder: Client) -> None:
    assert job.ref in text_of(alder.get("/jobs/"))
    assert job.ref not in text_of(alder.get("/jobs/?state=closed"))
    assert job.ref in text_of(alder.get("/jobs/?state=all"))


def test_causes_are_counted_by_family(scene: Scene, alder: Client) -> None:
    vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
    visit(vehicle, date(2024, 5, 6), 90_000, operation("replace"), cause="injection")
    told = text_of(alder.get(f"/causes/?engine_family={scene.family.pk}"))
    assert "injector leaks or over-fuels 1" in told
    assert "none written" in told
    assert alder.get("/causes/?engine_family=999999").status_code == 404


def test_two_filters_are_looked_at_apart(scene: Scene, technician: Client) -> None:
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    fitted = [operation("replace", position=each) for each in ("bank 1", "bank 2")]
    visit(vehicle, date(2023, 5, 6), 90_000, *fitted)
    OdometerReadingFactory(vehicle=vehicle, read_on=date(2023, 6, 6), typed=91_000)
    vehicles_settle(vehicle_ids=[vehicle.pk])
    new_job(technician, vehicle, **{"look-0-answer": "same", "look-1-answer": "another"})
    found = Operation.objects.filter(job__ref="240506-1").values_list("position", "found_in_place")
    assert sorted(found) == [("bank 1", "same"), ("bank 2", "another")]


# --- What the customer takes home ---


def test_the_sheet_is_a_tagged_pdf_and_the_same_each_time(job: Job, technician: Client) -> None:
    answer = technician.get(f"/jobs/{job.pk}/sheet.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    sheet = job_sheet(job=job)
    pdf = job_sheet_pdf(sheet, made_on=date(2024, 5, 7))
    assert b"StructTreeRoot" in pdf
    assert pdf == job_sheet_pdf(sheet, made_on=date(2024, 5, 7))


def test_the_sheet_tells_what_was_done_and_what_comes_next(job: Job, technician: Client) -> None:
    replaced(technician, job, part_mark="P 17", labour_cost="100", tax_cost="19", currency="EUR")
    write(technician, job, "advice", text="renew the hoses")
    write(technician, job, "close", closed_on="2024-05-07", cause="wear")
    data = job_sheet_data(job_sheet(job=Job.objects.get(pk=job.pk)), made_on=date(2024, 5, 7))
    assert data["parts"] == [["particulate filter", "", "P 17", ""]]
    assert data["costs"][-1] == ["Together", "119.00 EUR"]
    assert data["advice"] == [["renew the hoses", "not answered yet", "", ""]]
    assert "14 May 2024 or at 141 550 km" in data["recheck"].replace("\u00a0", " ")
    assert any("dry grass" in each for each in data["cautions"])


def test_the_sheet_names_readings_and_codes_as_the_pages_do(job: Job) -> None:
    after = {"quantity": "soot_mass", "value": "4", "unit": "g", "condition": ""}
    ReadingFactory(job=job, phase="after_work", **after)
    ReadingFactory(job=job, condition="raised", value="85", unit="", speed_rpm=2700)
    cleared = {"cleared_at": datetime(2024, 5, 7, 9, tzinfo=UTC), "cleared_by_name": "A. Tester"}
    TroubleCodeReadFactory(job=job, code="P2463", **cleared)
    data = job_sheet_data(job_sheet(job=job), made_on=date(2024, 5, 7))
    assert [[each.replace("\u00a0", " ") for each in row] for row in data["readings"]] == [
        [
            "pressure across the filter",
            "on arrival",
            "85 (no unit shown)",
            "raised speed, no load, 2700 rpm",
        ],
        ["soot, as the vehicle reckons it", "after the work", "4 g", ""],
    ]
    assert [[each.replace("\u00a0", " ") for each in row] for row in data["codes"]] == [
        ["P2463", "filter restricted, soot", "on arrival", "confirmed, cleared 7 May 2024"]
    ]
    assert job_sheet_pdf(job_sheet(job=job), made_on=date(2024, 5, 7))


def test_the_sheet_of_another_is_not_found(job: Job, scene: Scene, client_of: ClientOf) -> None:
    assert client_of(scene.cast.at_cedar).get(f"/jobs/{job.pk}/sheet.pdf").status_code == 404

"""The page of a job's evidence: findings added, cautions confirmed, outcomes kept."""

from datetime import date

import pytest
from django.test import Client

from garage.pages.written_at import written_at
from garage.records.models import CautionConfirmed, FindingSeen, Job, OutcomeConfirmed
from tests.api.scene import Scene, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.evidence_factories import (
    FindingSeenFactory,
    ReadingFactory,
    TroubleCodeReadFactory,
)
from tests.records.factories import VehicleFactory


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    return visit(vehicle, date(2024, 5, 6), 141_250, planned=False)


def page_of(job: Job) -> str:
    return f"/jobs/{job.pk}/evidence/"


def test_page_tells_what_went_in_and_what_to_check_next(job: Job, technician: Client) -> None:
    ReadingFactory(job=job, condition="engine_off", value="7")
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "far off zero" in told
    assert "What to check next" in told
    assert "cannot be told yet" in told
    assert leaks_in(answer) == []


def test_reading_that_tells_nothing_is_shown_with_why(job: Job, technician: Client) -> None:
    ReadingFactory(job=job, quantity="soot_mass", value="34", unit="g", condition="")
    told = text_of(technician.get(page_of(job)))
    assert "Read, and yet telling nothing" in told
    assert "litres and the vehicle's own limit are not known" in told
    assert "Not watched" not in told


def test_finding_is_added_from_the_page(job: Job, technician: Client) -> None:
    sent = {"finding-found": "oil_level:within", "finding-phase": "arrival"}
    told = text_of(technician.post(page_of(job) + "finding/", sent, follow=True))
    assert "The finding is kept." in told
    assert FindingSeen.objects.get(job=job).state == "within"


@pytest.mark.parametrize("name", ["finding-found", "outcome-proved"])
def test_tap_too_early_says_nothing(job: Job, technician: Client, name: str) -> None:
    # Fails where the first of the list is chosen already: "near zero" would open the grading.
    select = technician.get(page_of(job)).content.decode().split(f'<select name="{name}"')[1]
    assert '<option value="" selected>choose</option>' in select.split("</select>")[0]


@pytest.mark.parametrize(
    ("finding", "address"),
    [
        ("raised_pressure", "/?phase=after_work&quantity=pressure_across_filter&condition=raised"),
        ("codes_loading", "/codes/?phase=after_work#line"),
        ("oil_level", "/evidence/?phase=after_work&finding=oil_level#add"),
    ],
)
def test_check_leads_to_the_form_that_takes_what_it_found(
    job: Job, technician: Client, finding: str, address: str
) -> None:
    at = written_at(job.pk, finding, "after_work")
    assert address in at.address
    content = technician.get(at.address).content
    assert b'<option value="after_work" selected>' in content


def test_next_check_and_gate_say_where_they_are_written_down(
    scene: Scene, job: Job, technician: Client, client_of: ClientOf
) -> None:
    content = technician.get(page_of(job)).content.decode()
    gates = content.split('id="gates"')[1]
    assert "Write it down" in content
    assert f"{page_of(job)}?phase=arrival&amp;finding=underneath#add" in gates
    assert gates.count("Opens by: look underneath") == 1
    told = text_of(client_of(scene.cast.viewer).get(page_of(job)))
    assert "What to check next" in told
    assert "Write it down" not in told


def test_check_read_before_says_why_it_told_nothing(job: Job, technician: Client) -> None:
    ReadingFactory(job=job, condition="engine_off", value="0")
    told = text_of(technician.get(page_of(job)))
    assert "Read before" not in told
    ReadingFactory(job=job, condition="raised", value="60", speed_rpm=2000)
    TroubleCodeReadFactory(job=job, code="P2463")
    answer = technician.get(page_of(job))
    told = text_of(answer).split("What may be done")[0]
    assert "Read before, and yet telling nothing: read at 2000 rpm" in told
    assert "Read before, and yet telling nothing: none of the group, but self-tests" in told
    assert b"finding=self_tests#add" in answer.content


def test_check_whose_reading_is_bare_leads_to_its_unit(job: Job, technician: Client) -> None:
    bare = {"unit": "", "standard_value": None, "value": "0.9", "speed_rpm": 2600}
    ReadingFactory(job=job, condition="raised", **bare)
    answer = technician.get(page_of(job))
    told = text_of(answer).split("What may be done")[0]
    assert "telling nothing: the display shows no unit; find which it is" in told
    assert f'href="/jobs/{job.pk}/gauges/?phase=arrival#content"' in answer.content.decode()
    assert "they count here once their unit is confirmed" in text_of(
        technician.get(f"/jobs/{job.pk}/gauges/")
    )
    ReadingFactory(job=job, condition="raised", value="9", unit="mbar", speed_rpm=2600)
    assert "they count here" not in text_of(technician.get(f"/jobs/{job.pk}/gauges/"))


def test_finding_that_is_asked_for_stands_alone(job: Job, technician: Client) -> None:
    asked = technician.get(page_of(job), {"finding": "oil_level"}).content
    assert b"oil level: within its marks" in asked
    assert b"smoke: black" not in asked
    assert b"smoke: black" in technician.get(page_of(job), {"finding": "oil"}).content


def test_finding_is_taken_back_at_its_own_job_alone(job: Job, technician: Client) -> None:
    seen = FindingSeenFactory(job=job, finding="oil_level", state="within", phase="after_work")
    elsewhere = FindingSeenFactory(finding="oil_level", state="within")
    write = page_of(job) + "take-back/?phase=after_work"
    assert b"Take back" in technician.get(page_of(job) + "?phase=after_work").content
    assert technician.post(write, {"take-back-seen": elsewhere.pk}).status_code == 404
    answer = technician.post(write, {"take-back-seen": seen.pk})
    assert answer["Location"] == page_of(job) + "?phase=after_work"
    assert FindingSeen.objects.get() == elsewhere


def test_form_asks_for_the_phase_of_its_page_and_leads_back_to_it(
    job: Job, technician: Client
) -> None:
    # Fails where a finding after the work is taken for one on arrival by whoever leaves the list.
    content = technician.get(page_of(job) + "?phase=after_work").content
    assert b'<option value="after_work" selected>' in content
    assert f"{page_of(job)}finding/?phase=after_work#add".encode() in content
    sent = {"finding-found": "oil_level:within", "finding-phase": "after_work"}
    answer = technician.post(page_of(job) + "finding/?phase=after_work", sent)
    assert answer["Location"] == page_of(job) + "?phase=after_work"
    refused = technician.post(page_of(job) + "finding/?phase=after_work", {})
    assert f"{page_of(job)}caution/?phase=after_work#add".encode() in refused.content


def test_finding_before_its_cautions_comes_back_with_why(job: Job, technician: Client) -> None:
    sent = {"finding-found": "smoke:blue", "finding-phase": "arrival", "finding-note": "seen cold"}
    answer = technician.post(page_of(job) + "finding/", sent)
    told = text_of(answer)
    assert "confirmed before the step" in told
    assert "Not confirmed." in told  # what paper bears in place of the form
    assert "Running the engine while standing" in told
    assert b'value="engine_running"' in answer.content
    assert b"seen cold" in answer.content
    assert not FindingSeen.objects.exists()
    confirmed = {"caution-procedure": "engine_running", "caution-name": "A. Tester"}
    for name, value in sent.items():
        assert f'<input type="hidden" name="{name}" value="{value}">' in answer.content.decode()
    filled = technician.post(page_of(job) + "caution/", confirmed | sent)
    assert b'<option value="smoke:blue" selected>' in filled.content
    assert b"seen cold" in filled.content
    assert "Your name is kept" in text_of(filled)
    assert not FindingSeen.objects.exists()
    assert CautionConfirmed.objects.get(job=job).name == "A. Tester"
    told = text_of(technician.post(page_of(job) + "finding/", sent, follow=True))
    assert FindingSeen.objects.get(job=job).state == "blue"
    assert "blue (seen; seen cold)" in told


def test_cautions_of_one_procedure_are_said_once(job: Job, technician: Client) -> None:
    # Several checks need the engine running: its cautions stand once, and are confirmed once.
    content = technician.get(page_of(job)).content
    assert content.count(b"extractor hose") == 1


def test_caution_without_a_name_comes_back_with_why(job: Job, technician: Client) -> None:
    sent = {"caution-procedure": "engine_running", "caution-name": " "}
    answer = technician.post(page_of(job) + "caution/", sent)
    assert b"This field is required" in answer.content
    assert not CautionConfirmed.objects.exists()


def test_outcome_is_kept_from_the_page(job: Job, technician: Client) -> None:
    told = text_of(
        technician.post(
            page_of(job) + "outcome/", {"outcome-proved": "upstream:thermostat"}, follow=True
        )
    )
    assert "engine never reaches its temperature" in told
    assert OutcomeConfirmed.objects.get(job=job).list == "upstream"


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_job_answers_as_none(
    scene: Scene, job: Job, client_of: ClientOf, who: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    assert client.get(page_of(job)).status_code == 404
    sent = {"finding-found": "oil_level:within", "finding-phase": "arrival"}
    assert client.post(page_of(job) + "finding/", sent).status_code == 404
    assert not FindingSeen.objects.exists()


def test_viewer_reads_but_writes_nothing(scene: Scene, job: Job, client_of: ClientOf) -> None:
    client = client_of(scene.cast.viewer)
    assert "Add the finding" not in text_of(client.get(page_of(job)))
    sent = {"finding-found": "oil_level:within", "finding-phase": "arrival"}
    assert client.post(page_of(job) + "finding/", sent).status_code == 403
    assert not FindingSeen.objects.exists()


def test_unknown_form_is_not_found(job: Job, technician: Client) -> None:
    assert technician.post(page_of(job) + "mood/", {}).status_code == 404


@pytest.mark.parametrize("count", [3, 30])
def test_reads_as_often_whatever_was_read(
    job: Job, technician: Client, count: int, django_assert_max_num_queries: object
) -> None:
    for _ in range(count):
        ReadingFactory(job=job)
    with django_assert_max_num_queries(25):  # type: ignore[operator]
        technician.get(page_of(job))

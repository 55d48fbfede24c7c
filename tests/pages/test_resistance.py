"""The page of a filter's resistance, its ash budget and its soot balance."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from garage.records.models import Job, Vehicle
from tests.api.scene import Scene, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, specs_of, text_of
from tests.records.evidence_factories import ReadingFactory
from tests.records.factories import FitmentFactory, VehicleFactory


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
    return visit(vehicle, date(2024, 5, 6), 141_250, planned=False)


def page_of(job: Job) -> str:
    return f"/jobs/{job.pk}/resistance/"


def read(job: Job, value: str, condition: str, **more: Any) -> None:
    ReadingFactory(job=job, value=Decimal(value), condition=condition, **more)


def whole(job: Job) -> None:
    read(job, "0.2", "engine_off")
    read(job, "7.1", "idle")
    read(job, "47", "raised", speed_rpm=2500)
    for condition, kg_per_h, temperature in (("idle", "36", "150"), ("raised", "172.8", "250")):
        read(job, kg_per_h, condition, quantity="exhaust_flow", unit="kg/h")
        read(job, temperature, condition, quantity="exhaust_temperature_before", unit="°C")


def test_page_without_readings_says_what_to_read(job: Job, technician: Client) -> None:
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "cannot be told yet" in told or "not compared" in told
    assert "Read the pressure with key on, engine off" in told
    assert "common practice, no source" in told
    assert "Too little for a drawing" in told
    assert leaks_in(answer) == []


def test_whole_visit_gives_index_states_and_drawing(job: Job, technician: Client) -> None:
    whole(job)
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "Pressure allows: loaded with soot or full of ash" in told
    assert "told apart only by a completed burn" in told
    assert "mbar per m³/h" in told
    assert leaks_in(answer) == []
    layers = specs_of(answer)["chart-resistance"]["layer"]
    points = layers[2]["data"]["values"]
    # 43 and 256 m³/h at 1013 mbar; at the 990 mbar taken, and behind 7 and 47 mbar, 44 and 250.
    assert [round(each["flow"]) for each in points] == [44, 250]


@pytest.mark.parametrize("condition", ["idle", "raised"])
def test_missing_is_said_by_name(job: Job, technician: Client, condition: str) -> None:
    whole(job)
    job.technical_readings.filter(
        condition=condition, quantity="exhaust_temperature_before"
    ).delete()
    words = {"idle": "at idle", "raised": "at raised speed"}[condition]
    told = text_of(technician.get(page_of(job)))
    assert f"Read the exhaust temperature before the filter {words}" in told


def test_displacement_stands_in_for_flow(job: Job, technician: Client) -> None:
    whole(job)
    job.technical_readings.filter(quantity="exhaust_flow").delete()
    job.technical_readings.filter(condition="idle").update(speed_rpm=800)
    assert "displacement and speed" not in text_of(technician.get(page_of(job)))
    answer = technician.get(page_of(job), {"displacement_l": "2.0", "phase": "arrival"})
    assert "displacement and speed" in text_of(answer)
    assert leaks_in(answer) == []


@pytest.mark.parametrize("typed", ["0", "-1", "200", "two", "nan"])
def test_displacement_that_cannot_be_is_refused_on_the_page(
    job: Job, technician: Client, typed: str
) -> None:
    whole(job)
    answer = technician.get(page_of(job), {"displacement_l": typed})
    assert answer.status_code == 200
    assert "errorlist" in answer.content.decode()
    assert f'value="{typed}"' in answer.content.decode()


def test_ash_budget_starts_from_the_records(job: Job, technician: Client) -> None:
    FitmentFactory(vehicle=job.vehicle, fitted_km=121_250, fitted_at=job, start="fitted_here")
    read(job, "3", "", quantity="filter_volume", unit="L")
    read(job, "0.5", "", quantity="oil_consumption", unit="L/1000 km")
    content = technician.get(page_of(job)).content.decode()
    assert 'value="20000"' in content
    assert 'value="0.5"' in content
    told = text_of(technician.get(page_of(job)))
    assert "from the filter's fitting or cleaning to this job" in told
    assert "likely 60" in told


def test_ash_budget_follows_the_form_and_keeps_nothing(job: Job, technician: Client) -> None:
    sent = {
        "asked": "deposits", "oil_l_per_1000_km": "0.5", "category": "C3", "volume_l": "3",
        "on_filter_km": "20000", "duty": "mixed", "burn_interval_km": "150",
    }  # fmt: skip
    before = job.technical_readings.count()
    answer = technician.get(page_of(job), sent)
    told = text_of(answer)
    # 29 000 km less 20 000 km, likely; 12 to 24 g over 0.02 to 0.06 g/km.
    assert "likely 9400" in told.replace("\u00a0", "").replace(" 400", "400")
    assert "Shorter than 200 to 1200 km" in told
    assert "look upstream" in told
    assert leaks_in(answer) == []
    assert job.technical_readings.count() == before


def test_ash_form_that_does_not_hold_comes_back_filled(job: Job, technician: Client) -> None:
    sent = {"asked": "deposits", "oil_l_per_1000_km": "-1", "volume_l": "3"}
    content = technician.get(page_of(job), sent).content.decode()
    assert 'value="-1"' in content
    assert "nothing was reckoned" in content


def test_vehicle_without_a_family_is_led_to_where_it_is_written(
    job: Job, technician: Client
) -> None:
    leads = f'href="/vehicles/{job.vehicle_id}/facts/">Write it down'
    assert leads not in technician.get(page_of(job)).content.decode()
    Vehicle.objects.filter(pk=job.vehicle_id).update(engine_family=None)
    assert leads in technician.get(page_of(job)).content.decode()


def test_phase_is_that_of_the_address(job: Job, technician: Client) -> None:
    read(job, "0.2", "engine_off", phase="after_work")
    answer = technician.get(page_of(job), {"phase": "after_work"})
    told = text_of(answer)
    assert b'<strong aria-current="page">after the work</strong>' in answer.content
    assert "Read the pressure with key on, engine off" not in told


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_job_answers_as_none(
    scene: Scene, job: Job, client_of: ClientOf, who: str
) -> None:
    assert client_of(scene.cast.viewer).get(page_of(job)).status_code == 200
    assert client_of(getattr(scene.cast, who)).get(page_of(job)).status_code == 404


def test_page_is_only_read(job: Job, technician: Client) -> None:
    assert technician.post(page_of(job)).status_code == 405


def test_evidence_leads_here(job: Job, technician: Client) -> None:
    content = technician.get(f"/jobs/{job.pk}/evidence/").content.decode()
    assert f'href="{page_of(job)}' in content


def test_family_page_says_what_a_sound_filter_reads(scene: Scene, technician: Client) -> None:
    answer = technician.get(f"/engine-families/{scene.family.pk}/")
    told = text_of(answer)
    assert "What a sound filter reads" in told
    assert "common practice, no source" in told
    assert leaks_in(answer) == []


@pytest.mark.parametrize("count", [3, 30])
def test_reads_as_often_whatever_was_read(
    job: Job, technician: Client, count: int, django_assert_max_num_queries: Any
) -> None:
    for _ in range(count):
        whole(job)
    with django_assert_max_num_queries(20):
        technician.get(page_of(job))

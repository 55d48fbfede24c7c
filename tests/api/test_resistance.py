"""A filter's resistance, a family's reference and the ash budget over the API."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.records.models import Job
from tests.api.conformance import departures
from tests.api.conftest import ClientOf
from tests.api.scene import Scene, visit
from tests.records.evidence_factories import OwnThresholdFactory, ReadingFactory
from tests.records.factories import VehicleFactory

BASE = "/api/v1/"
JOB, FAMILY = BASE + "jobs/{job_id}/resistance/", BASE + "engine-families/{family_id}/reference/"
ASH = f"{BASE}ash-budget/"
WORN = {
    "oil_l_per_1000_km": 0.5,
    "category": "C3",
    "volume_l": 3.0,
    "on_filter_km": 20_000,
    "duty": "mixed",
    "burn_interval_km": 150,
}


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
    return visit(vehicle, date(2024, 5, 6), 141_250, planned=False)


def read(job: Job, value: str, condition: str, **more: Any) -> None:
    ReadingFactory(job=job, value=Decimal(value), condition=condition, **more)


def whole(job: Job, phase: str = "arrival") -> None:
    read(job, "0.2", "engine_off", phase=phase)
    read(job, "7.1", "idle", phase=phase)
    read(job, "47", "raised", speed_rpm=2500, phase=phase)
    for condition, kg_per_h, temperature in (("idle", "36", "150"), ("raised", "172.8", "250")):
        flow = {"quantity": "exhaust_flow", "unit": "kg/h", "phase": phase}
        read(job, kg_per_h, condition, **flow)
        heat = {"quantity": "exhaust_temperature_before", "unit": "°C", "phase": phase}
        read(job, temperature, condition, **heat)


def test_job_tells_index_states_and_what_is_next(job: Job, alder: APIClient) -> None:
    whole(job)
    answer = alder.get(f"{BASE}jobs/{job.pk}/resistance/")
    assert departures(answer, JOB) == []
    body = answer.json()
    assert body["index"]["index_status"] == "ok"
    # 46.8 mbar over about 250 m³/h.
    assert body["index"]["resistance_mbar_per_m3_per_h"] == pytest.approx(0.187, rel=0.05)
    assert sorted(body["states"]["allowed"]) == ["ash_limited", "soot_loaded"]
    assert "told apart only by a completed burn" in body["states"]["reason"]
    assert body["missing"] == []
    assert [each["flow_from"] for each in body["points"]] == ["exhaust_flow"] * 2


def test_job_without_readings_says_null_and_why(job: Job, alder: APIClient) -> None:
    answer = alder.get(f"{BASE}jobs/{job.pk}/resistance/")
    assert departures(answer, JOB) == []
    body = answer.json()
    assert body["index"]["resistance_mbar_per_m3_per_h"] is None
    assert body["index"]["index_status"] == "no_zero"
    assert body["missing"][0] == "the pressure with key on, engine off"


def test_phase_and_displacement_are_asked_for(job: Job, alder: APIClient) -> None:
    whole(job, "after_work")
    address = f"{BASE}jobs/{job.pk}/resistance/"
    assert alder.get(address).json()["points"] == []
    assert len(alder.get(address, {"phase": "after_work"}).json()["points"]) == 2
    job.technical_readings.filter(quantity="exhaust_flow").delete()
    asked = {"phase": "after_work", "displacement_l": "2.0"}
    assert alder.get(address, asked).json()["points"][1]["flow_from"] == "engine"


@pytest.mark.parametrize(
    "query", [{"phase": "later"}, {"displacement_l": "0"}, {"displacement_l": "nan"}]
)
def test_question_that_breaks_a_rule_is_refused(
    job: Job, alder: APIClient, query: dict[str, str]
) -> None:
    answer = alder.get(f"{BASE}jobs/{job.pk}/resistance/", query)
    assert answer.status_code == 400
    assert departures(answer, JOB) == []
    assert answer.json()["errors"][0]["name"] == next(iter(query))


def test_family_falls_back_on_common_practice_labelled_so(scene: Scene, alder: APIClient) -> None:
    answer = alder.get(f"{BASE}engine-families/{scene.family.pk}/reference/")
    assert departures(answer, FAMILY) == []
    raised = answer.json()["plain"][1]
    assert (raised["at"], raised["sensor_layout"]) == ("raised", "two_hose")
    assert raised["reference"]["reference_status"] == "common_practice"
    assert raised["reference"]["basis"] == "common practice, no source"
    values = [each["value"] for each in raised["reference"]["quantiles"]]
    assert values == [8.0, None, None, None, 30.0]


def test_family_is_told_by_the_organisations_own_limits(scene: Scene, alder: APIClient) -> None:
    address = f"{BASE}engine-families/{scene.family.pk}/reference/"
    OwnThresholdFactory(
        organisation=scene.cast.birch, key="raised_sound_least_mbar", value=5.0, source="a bench"
    )
    assert alder.get(address).json()["plain"][1]["reference"]["quantiles"][0]["value"] == 8.0
    OwnThresholdFactory(
        organisation=scene.cast.alder, key="raised_sound_least_mbar", value=9.5, source="a bench"
    )
    assert alder.get(address).json()["plain"][1]["reference"]["quantiles"][0]["value"] == 9.5


def test_anothers_job_and_family_answer_as_none(
    scene: Scene, job: Job, client_of: ClientOf
) -> None:
    birch = client_of(scene.cast.at_birch)
    assert birch.get(f"{BASE}jobs/{job.pk}/resistance/").status_code == 404
    assert birch.get(f"{BASE}engine-families/{scene.family.pk}/reference/").status_code == 404


def test_ash_budget_is_a_range(alder: APIClient) -> None:
    answer = alder.post(ASH, WORN, format="json")
    assert answer.status_code == 200
    assert departures(answer, ASH, "post") == []
    body = answer.json()
    # 29 000 km likely: 60 g over 0.5 L x 850 g/L x 0.8 % x 0.6 a 1000 km.
    assert body["ash"]["full_after_km"]["likely"] == pytest.approx(29_400, rel=0.01)
    assert body["ash"]["remaining_km"]["likely"] == pytest.approx(9_400, rel=0.02)
    # 12 to 24 g over 0.02 to 0.06 g/km.
    assert body["interval"]["interval_status"] == "shorter"
    assert body["interval"]["expected_km"]["least"] == pytest.approx(200.0)


def test_ash_budget_of_nothing_is_not_known(alder: APIClient) -> None:
    answer = alder.post(ASH, {}, format="json")
    assert departures(answer, ASH, "post") == []
    body = answer.json()
    assert body["ash"]["full_after_km"] is None
    assert body["ash"]["reason"] == "oil use is not known: measure it over 1000 km or more"
    assert body["interval"]["interval_status"] == "not_known"


@pytest.mark.parametrize(
    ("name", "value"),
    [("oil_l_per_1000_km", -1), ("volume_l", 0), ("category", "C9"), ("duty", "fast"), ("km", 1)],
)
def test_ash_budget_that_breaks_a_rule_is_refused(alder: APIClient, name: str, value: Any) -> None:
    answer = alder.post(ASH, {**WORN, name: value}, format="json")
    assert answer.status_code == 400
    assert departures(answer, ASH, "post") == []
    assert [each["name"] for each in answer.json()["errors"]] == [name]


def test_ash_budget_needs_a_sign_in(scene: Scene) -> None:
    assert APIClient().post(ASH, WORN, format="json").status_code == 401

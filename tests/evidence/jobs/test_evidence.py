"""What the readings, codes and findings of one job say together."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from garage.evidence.jobs.evidence import (
    JobEvidence,
    graded_on_arrival,
    job_evidence,
    likelihoods_learnt,
    visit_said,
)
from garage.evidence.own_limits import limits_for
from garage.records.models import Baseline, Job
from tests.records.evidence_factories import (
    AT,
    DriveLoggedFactory,
    FindingSeenFactory,
    OutcomeConfirmedFactory,
    OwnCodeWordingFactory,
    OwnThresholdFactory,
    ReadingFactory,
)
from tests.records.factories import JobFactory, OperationFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    return JobFactory()


def read(job: Job, value: str, condition: str, unit: str = "mbar", **more: object) -> None:
    ReadingFactory(job=job, value=Decimal(value), condition=condition, unit=unit, **more)


def told(job: Job, phase: str = "arrival") -> JobEvidence:
    return job_evidence(job=job, phase=phase, organisation_ids=[job.organisation_id])


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "reason"),
    [
        ("soot_mass", "-1", "g", "above 0"),
        ("soot_mass", "12", "", "no unit"),
        ("soot_mass", "12", "mbar", "no unit of mass"),
        ("filter_volume", "0", "L", "above 0"),
        ("soot_limit", "0", "g", "above 0"),
    ],
)
def test_size_that_cannot_be_is_set_aside_and_told(
    job: Job, quantity: str, value: str, unit: str, reason: str
) -> None:
    # Fails when one odd reading stops the whole page, or is taken for a size.
    read(job, value, "", unit=unit, quantity=quantity)
    assert [reason in each.reason for each in told(job).unused] == [True]


def test_size_of_the_filter_holds_in_every_phase(job: Job) -> None:
    read(job, "3", "", unit="L", quantity="filter_volume")
    read(job, "20", "", unit="g", quantity="soot_mass", phase="after_work")
    assert told(job, "after_work").observed["modelled_soot"] == "over_limit"


def test_code_of_a_group_that_is_not_weighed_is_told() -> None:
    evidence = told(JobFactory(trouble_codes="P20EE P2463"))
    assert [each.what for each in evidence.unused] == ["P20EE"]


def test_nothing_read_says_nothing_and_settles_nothing(job: Job) -> None:
    evidence = told(job)
    assert evidence.observed == {}
    assert [each.settled for each in evidence.weighed.lists] == [None, None, None]
    assert evidence.weighed.next_checks


def test_readings_become_findings_in_the_units_they_were_shown(job: Job) -> None:
    read(job, "0.2", "engine_off")
    read(job, "0.48", "idle", unit="kPa")
    read(job, "1.45037738", "raised", unit="psi", speed_rpm=2500)  # 100 mbar
    observed = told(job).observed
    assert observed["zero"] == "within"
    assert observed["idle_pressure"] == "usual"
    assert observed["raised_pressure"] in {"high", "very_high"}
    assert observed["layout"] == "two_hose"


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"unit": ""}, "no unit"),
        ({"unit": "stones"}, "no unit of pressure"),
        ({"condition": ""}, "not said"),
    ],
)
def test_reading_that_cannot_be_used_is_told_and_not_guessed(
    job: Job, changed: dict[str, str], reason: str
) -> None:
    read(job, "0", "engine_off")
    said = {"condition": "idle", "unit": "mbar"} | changed
    read(job, "40", said["condition"], unit=said["unit"])
    evidence = told(job)
    assert "idle_pressure" not in evidence.observed
    assert len(evidence.unused) == 1
    assert reason in evidence.unused[0].reason


def test_reading_that_is_not_graded_is_told_and_one_not_taken_is_not(job: Job) -> None:
    read(job, "9", "idle")
    assert [each.finding for each in told(job).ungraded] == ["idle_pressure"]
    read(job, "0", "engine_off")
    assert told(job).ungraded == ()


def test_readings_of_another_phase_or_job_do_not_count(job: Job) -> None:
    read(job, "0", "engine_off")
    read(job, "40", "idle", phase="after_work")
    read(JobFactory(), "40", "idle")
    assert "idle_pressure" not in told(job).observed
    assert "zero" not in told(job, "after_work").observed


def test_codes_on_arrival_are_grouped_and_loading_is_a_consequence() -> None:
    job = JobFactory(trouble_codes="P2463, P0401 P2O63")
    evidence = told(job)
    assert evidence.observed["codes_loading"] == "present"
    assert evidence.observed["codes_recirculation"] == "present"
    assert "codes_fuel" not in evidence.observed
    assert evidence.order.consequence == ("loading",)
    assert [each.what for each in evidence.unused] == ["P2O63"]
    assert "codes_loading" not in told(job, "after_work").observed


def test_what_somebody_saw_stands_before_what_a_reading_says(job: Job) -> None:
    read(job, "0.2", "engine_off")
    FindingSeenFactory(job=job, finding="zero", state="large")
    assert told(job).observed["zero"] == "large"


def test_contradiction_is_named(job: Job) -> None:
    for finding, state in [("zero", "within"), ("modelled_soot", "over_limit")]:
        FindingSeenFactory(job=job, finding=finding, state=state)
    FindingSeenFactory(job=job, finding="raised_pressure", state="very_low")
    keys = {each.key for each in told(job).weighed.conflicts}
    assert "model_high_pressure_low" in keys


def test_oil_above_its_maximum_shuts_the_burn(job: Job) -> None:
    FindingSeenFactory(job=job, finding="oil_level", state="within")
    assert "oil" not in told(job).gates.gate("burn").reason.lower()
    job.findings_seen.update(state="above_maximum")
    gates = told(job).gates
    assert "burn" not in gates.may
    assert gates.cold_removal


@pytest.mark.parametrize(
    ("state", "way"),
    [("whole", "open"), ("leaks", "shut"), ("shell_cracked", "shut"), (None, "unknown")],
)
def test_look_underneath_opens_or_shuts_the_first_gate(
    job: Job, state: str | None, way: str
) -> None:
    if state is not None:
        FindingSeenFactory(job=job, finding="underneath", state=state)
    assert told(job).gates.gate("safety").way.value.startswith(way)


@pytest.mark.parametrize(("phase", "cleaned"), [("arrival", False), ("after_work", True)])
def test_cleaning_of_a_job_came_after_what_was_read_on_arrival(
    job: Job, phase: str, cleaned: bool
) -> None:
    # Fails when a pressure of the arrival is told as what a cleaning left.
    OperationFactory(job=job, kind="clean_off_vehicle")
    limits = limits_for(job.organisation_id, None)
    said = visit_said(job=job, phase=phase, organisation_ids=[], limits=limits)
    assert said.cleaned is cleaned


def a_vehicle_ready_for_a_burn(job: Job) -> None:
    for finding, state in [
        ("underneath", "whole"),
        ("zero", "within"),
        ("hoses", "sound"),
        ("response", "prompt"),
        ("cause_put_right", "put_right"),
        ("oil_level", "within"),
        ("hot_work_area", "ready"),
        ("burn_conditions", "met"),
    ]:
        FindingSeenFactory(job=job, finding=finding, state=state)
    ReadingFactory(job=job, quantity="soot_mass", value=12, unit="g", condition="")
    ReadingFactory(job=job, quantity="filter_volume", value=3, unit="L", condition="")


def test_burn_opens_where_all_is_said_and_soot_is_in_range(job: Job) -> None:
    a_vehicle_ready_for_a_burn(job)
    assert told(job).gates.gate("burn").is_open


@pytest.mark.parametrize(
    ("finding", "state"),
    [
        ("underneath", "leaks"),
        ("hoses", "swapped"),
        ("cause_put_right", "not_yet"),
        ("oil_level", "above_maximum"),
        ("hot_work_area", "not_ready"),
        ("burn_conditions", "not_met"),
    ],
)
def test_any_one_of_them_keeps_the_burn_shut(job: Job, finding: str, state: str) -> None:
    a_vehicle_ready_for_a_burn(job)
    job.findings_seen.filter(finding=finding).update(state=state)
    assert not told(job).gates.gate("burn").is_open


@pytest.mark.parametrize(
    ("quantity", "value"), [("soot_mass", 16), ("filter_volume", 0), ("soot_limit", 11)]
)
def test_burn_stays_shut_by_soot_without_litres_or_by_the_vehicles_own_limit(
    job: Job, quantity: str, value: int
) -> None:
    # 5 g/L in 3 L where the substrate is not known: common practice, no source.
    a_vehicle_ready_for_a_burn(job)
    unit = "L" if quantity == "filter_volume" else "g"
    ReadingFactory(job=job, quantity=quantity, value=value, unit=unit, condition="")
    assert not told(job).gates.gate("burn").is_open


def proved(job: Job, **more: object) -> None:
    for of, state in [("sensing", "in_order"), ("filter", "soot_loaded"), ("upstream", "none")]:
        OutcomeConfirmedFactory(job=job, list=of, state=state, **more)


def test_likelihoods_learn_from_confirmed_outcomes_of_these_organisations_only(job: Job) -> None:
    proved(job)
    FindingSeenFactory(job=job)
    FindingSeenFactory(job=JobFactory(vehicle=job.vehicle))
    assert likelihoods_learnt(organisation_ids=[job.organisation_id]).confirmed == 1
    assert likelihoods_learnt(organisation_ids=[job.organisation_id + 1]).confirmed == 0


def test_likelihoods_learn_from_what_readings_said_when_it_was_confirmed(job: Job) -> None:
    read(job, "0", "engine_off")
    read(job, "40", "idle")
    graded = graded_on_arrival(job=job)
    assert (graded["zero"], graded["idle_pressure"]) == ("within", "high")
    proved(job, graded=graded)
    learnt = likelihoods_learnt(organisation_ids=[job.organisation_id])
    assert learnt.confirmed == len(graded)
    # What somebody saw of the same thing is one finding with it, not two.
    FindingSeenFactory(job=job, finding="zero", state="small")
    assert likelihoods_learnt(organisation_ids=[job.organisation_id]).confirmed == len(graded)


def test_graded_finding_that_is_no_longer_known_teaches_nothing(job: Job) -> None:
    graded = {"zero": "within", "idle_pressure": "odd", "mood": "good"}
    proved(job, graded=graded)
    assert likelihoods_learnt(organisation_ids=[job.organisation_id]).confirmed == 1


def test_readings_that_cannot_all_be_true_are_told(job: Job) -> None:
    read(job, "300", "raised")
    read(job, "500", "raised", quantity="pressure_before_filter")
    read(job, "195", "raised", quantity="pressure_after_filter")
    assert told(job).at_odds == ()
    read(job, "320", "raised")
    assert len(told(job).at_odds) == 1


def test_own_limit_of_the_workshop_holds_for_its_jobs(job: Job) -> None:
    read(job, "1.8", "engine_off")
    assert told(job).observed["zero"] == "within"
    OwnThresholdFactory(organisation=job.organisation, value=1.5)
    assert told(job).observed["zero"] == "small"
    assert told(JobFactory()).observed == {}


def test_family_of_sound_filters_grades_the_pressure(job: Job) -> None:
    read(job, "0", "engine_off")
    read(job, "30", "raised", speed_rpm=3000)
    by_default = told(job).observed["raised_pressure"]
    for number in range(25):
        after = JobFactory(
            organisation=job.organisation, vehicle__engine_family=job.vehicle.engine_family
        )
        OperationFactory(job=after, kind="replace")
        for value, condition in ((0, "engine_off"), (8 + number / 10, "raised")):
            reading = ReadingFactory(
                job=after, value=value, condition=condition, speed_rpm=3000, phase="after_work"
            )
            Baseline.objects.create(reading=reading, because="new_part", kept_at=AT)
    assert by_default == "low_or_normal"
    assert told(job).observed["raised_pressure"] == "high"


@pytest.mark.parametrize(
    ("because", "burn_end", "clean"),
    [
        ("completed_burn", "completed", 21.5),
        ("completed_burn", "broken_off", None),
        # A new part is clean whatever became of a burn.
        ("new_part", "broken_off", 21.5),
    ],
)
def test_own_reference_of_an_earlier_job_holds_unless_its_burn_was_none(
    because: str, burn_end: str, clean: float | None
) -> None:
    before = JobFactory(opened_on=date(2024, 3, 1))
    job = JobFactory(
        vehicle=before.vehicle, organisation=before.organisation, opened_on=date(2024, 5, 6)
    )
    read(before, "0.5", "engine_off")
    reading = ReadingFactory(job=before, value=Decimal("22"), condition="raised", speed_rpm=2500)
    Baseline.objects.create(reading=reading, because=because, kept_at=AT)
    FindingSeenFactory(job=before, finding="burn_end", state=burn_end)
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id)
    said = visit_said(
        job=job, phase="arrival", organisation_ids=[job.organisation_id], limits=limits
    )
    assert said.own_clean_mbar == clean


def test_own_word_of_the_workshop_moves_a_code_to_its_group() -> None:
    job = JobFactory(trouble_codes="P244C")
    assert "codes_burn" in told(job).observed
    OwnCodeWordingFactory(organisation=job.organisation, group="temperature")
    assert "codes_temperature" in told(job).observed


def test_logged_burn_is_weighed_at_its_phase(job: Job, repo: Path) -> None:
    log = repo / "tests" / "evidence" / "drives" / "burn_on_the_road.csv"
    DriveLoggedFactory(job=job, phase="arrival", text=log.read_text(encoding="utf-8"))
    assert told(job).observed["soot_fall"] == "burned"
    assert "soot_fall" not in told(job, "after_work").observed


def test_evidence_costs_the_same_for_three_readings_and_thirty(
    job: Job, django_assert_max_num_queries: Any
) -> None:
    for count in (3, 27):
        for _ in range(count):
            read(job, "0.2", "engine_off")
        with django_assert_max_num_queries(20):
            told(job)

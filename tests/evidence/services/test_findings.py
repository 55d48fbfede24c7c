"""Findings, cautions and outcomes as they are written: each refusal differs in one thing."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.services.findings import (
    FindingSaid,
    caution_confirm,
    finding_record,
    finding_take_back,
    outcome_confirm,
)
from garage.records.errors import RuleBroken
from garage.records.models import (
    AuditEntry,
    CautionConfirmed,
    FindingSeen,
    Job,
    OutcomeConfirmed,
)
from tests.records.evidence_factories import ReadingFactory
from tests.records.factories import JobFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
LATER = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
SMOKE = FindingSaid("smoke", "black")
OIL = FindingSaid("oil_level", "within", note="cold,  level")


@pytest.fixture
def job() -> Job:
    return JobFactory()


def test_finding_is_kept_with_who_and_when_and_an_audit_row(job: Job) -> None:
    member = UserFactory()
    kept = finding_record(job=job, said=OIL, at=AT, by=member)
    assert (kept.state, kept.note, kept.seen_at, kept.seen_by) == (
        "within",
        "cold, level",
        AT,
        member,
    )
    assert AuditEntry.objects.get().changes == {"oil_level": [None, "within"]}


def test_finding_taken_back_is_not_known_again(job: Job) -> None:
    kept = finding_record(job=job, said=OIL, at=AT)
    other = finding_record(job=job, said=replace(OIL, phase="recheck"), at=AT)
    for _ in range(2):  # taken back already stays so, with one row of audit
        finding_take_back(seen=kept, at=LATER)
    assert FindingSeen.objects.get() == other
    assert AuditEntry.objects.order_by("serial").last().changes == {"oil_level": ["within", None]}
    assert AuditEntry.objects.count() == 3


def test_later_answer_takes_the_place_of_an_earlier_one_of_its_phase(job: Job) -> None:
    finding_record(job=job, said=OIL, at=AT)
    finding_record(job=job, said=replace(OIL, state="above_maximum"), at=LATER)
    finding_record(job=job, said=replace(OIL, phase="recheck"), at=LATER)
    assert sorted(FindingSeen.objects.values_list("phase", "state")) == [
        ("arrival", "above_maximum"),
        ("recheck", "within"),
    ]
    assert AuditEntry.objects.order_by("serial")[1].changes == {
        "oil_level": ["within", "above_maximum"]
    }


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"finding": "mood"}, "finding"),
        ({"state": "full"}, "state"),
        ({"phase": "later"}, "phase"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_finding_that_cannot_be_is_refused(job: Job, changed: dict[str, Any], column: str) -> None:
    finding_record(job=job, said=OIL, at=AT)
    with pytest.raises(RuleBroken) as refused:
        finding_record(job=job, said=replace(OIL, **changed), at=LATER)
    assert refused.value.column == column
    assert FindingSeen.objects.get().seen_at == AT


def test_finding_waits_for_the_cautions_of_its_procedure_at_this_job(job: Job) -> None:
    caution_confirm(job=JobFactory(), procedure_key="engine_running", name="A. B.", at=AT)
    caution_confirm(job=job, procedure_key="burn", name="A. B.", at=AT)
    with pytest.raises(RuleBroken, match="before the step"):
        finding_record(job=job, said=SMOKE, at=AT)
    caution_confirm(job=job, procedure_key="engine_running", name=" A.  B. ", at=AT)
    assert finding_record(job=job, said=SMOKE, at=AT).state == "black"
    assert job.cautions_confirmed.get(procedure="engine_running").name == "A. B."


@pytest.mark.parametrize(
    ("procedure", "name", "column"),
    [("flying", "A. B.", "procedure"), ("burn", "  ", "name"), ("burn", "x" * 81, "name")],
)
def test_caution_without_its_procedure_or_name_is_refused(
    job: Job, procedure: str, name: str, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        caution_confirm(job=job, procedure_key=procedure, name=name, at=AT)
    assert refused.value.column == column
    assert not CautionConfirmed.objects.exists()


def test_name_of_who_confirmed_is_not_in_the_trail(job: Job) -> None:
    caution_confirm(job=job, procedure_key="burn", name="Somebody", at=AT)
    assert "Somebody" not in str(AuditEntry.objects.get().changes)


def test_outcome_is_kept_once_a_list(job: Job) -> None:
    outcome_confirm(job=job, of="filter", state="soot_loaded", at=AT)
    outcome_confirm(job=job, of="filter", state="ash_limited", at=LATER)
    outcome_confirm(job=job, of="upstream", state="thermostat", at=LATER)
    kept = sorted(OutcomeConfirmed.objects.values_list("list", "state"))
    assert kept == [("filter", "ash_limited"), ("upstream", "thermostat")]


def test_outcome_keeps_what_the_readings_of_the_arrival_said(job: Job) -> None:
    ReadingFactory(job=job, value=Decimal(0), condition="engine_off")
    ReadingFactory(job=job, value=Decimal(9), condition="engine_off", phase="after_work")
    finding_record(job=job, said=OIL, at=AT)
    kept = outcome_confirm(job=job, of="filter", state="soot_loaded", at=AT)
    assert kept.graded["zero"] == "within"
    assert "oil_level" not in kept.graded


@pytest.mark.parametrize(
    ("of", "state", "column"),
    [("driver", "none", "list"), ("filter", "thermostat", "state"), ("filter", "", "state")],
)
def test_outcome_that_cannot_be_is_refused(job: Job, of: str, state: str, column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        outcome_confirm(job=job, of=of, state=state, at=AT)
    assert refused.value.column == column
    assert not OutcomeConfirmed.objects.exists()

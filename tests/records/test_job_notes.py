"""Advice and its answer, readings and the vehicle's own reference, looks at the part in place."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from garage.records.errors import RuleBroken
from garage.records.models import (
    AdviceGiven,
    AuditEntry,
    Fitment,
    Job,
    LookMissed,
    PartKind,
)
from garage.records.services.advice_given import advice_add, advice_answer
from garage.records.services.looks import LookAnswer, look_record
from tests.records.factories import JobFactory, OperationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def job() -> Job:
    return JobFactory()


def test_advice_is_numbered_and_answered_with_time_and_name(job: Job) -> None:
    first, second = (advice_add(job=job, text=text, at=AT) for text in ("hoses", "oil  change"))
    assert (first.line, second.line, second.text) == (1, 2, "oil change")
    advice_answer(advice=second, answer="declined", answered_by="A. Keeper", at=AT)
    kept = AdviceGiven.objects.get(pk=second.pk)
    assert (kept.answer, kept.answered_by, kept.answered_at) == ("declined", "A. Keeper", AT)
    assert AuditEntry.objects.filter(verb="sign").count() == 1


def test_advice_answered_stands(job: Job) -> None:
    advice = advice_add(job=job, text="hoses", at=AT)
    advice_answer(advice=advice, answer="declined", answered_by="A. Keeper", at=AT)
    with pytest.raises(RuleBroken, match="stands"):
        advice_answer(advice=advice, answer="chosen", answered_by="A. Keeper", at=AT)


@pytest.mark.parametrize(
    ("answer", "name", "column"),
    [
        ("open", "A. Keeper", "answer"),
        ("chosen", " ", "answered_by"),
        ("chosen", "x" * 81, "answered_by"),
    ],
)
def test_advice_answer_that_cannot_be_is_refused(
    job: Job, answer: str, name: str, column: str
) -> None:
    advice = advice_add(job=job, text="hoses", at=AT)
    with pytest.raises(RuleBroken) as refused:
        advice_answer(advice=advice, answer=answer, answered_by=name, at=AT)
    assert refused.value.column == column


@pytest.mark.parametrize("text", ["", "  ", "x" * 501])
def test_advice_without_its_words_is_refused(job: Job, text: str) -> None:
    with pytest.raises(RuleBroken, match="1 to 500"):
        advice_add(job=job, text=text, at=AT)


@pytest.fixture
def look() -> LookAnswer:
    return LookAnswer(PartKind.objects.get(code="particulate_filter"), "same", "Bank  1", "A-17")


def test_look_at_the_same_part_is_an_operation_that_fitments_hear_of(
    job: Job, look: LookAnswer
) -> None:
    operation = look_record(job=job, look=look, at=AT)
    assert operation is not None
    assert (operation.kind, operation.position, operation.part_mark) == (
        "inspect",
        "bank 1",
        "A-17",
    )
    assert Fitment.objects.get(vehicle=job.vehicle).last_seen_same_at == job


def test_look_not_taken_is_kept_as_missed_and_taken_later_takes_its_place(
    job: Job, look: LookAnswer
) -> None:
    assert look_record(job=job, look=replace(look, answer="not_looked", mark=""), at=AT) is None
    assert LookMissed.objects.count() == 1
    assert not job.operations.exists()
    look_record(job=job, look=replace(look, answer="another"), at=AT)
    assert not LookMissed.objects.exists()
    assert job.operations.get().found_in_place == "another"
    look_record(job=job, look=look, at=AT)
    assert job.operations.get().found_in_place == "same"


def test_look_leaves_other_work_of_the_job_alone(job: Job, look: LookAnswer) -> None:
    OperationFactory(
        job=job, kind="inspect", part_kind=look.part_kind, position="bank 2", found_in_place="same"
    )
    OperationFactory(job=job, kind="clear_codes")
    look_record(job=job, look=look, at=AT)
    assert job.operations.count() == 3


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"answer": "maybe"}, "answer"),
        ({"answer": "not_looked"}, "mark"),
        ({"mark": "x" * 61}, "mark"),
    ],
)
def test_look_that_cannot_be_is_refused(
    job: Job, look: LookAnswer, changed: dict, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        look_record(job=job, look=replace(look, **changed), at=AT)
    assert refused.value.column == column

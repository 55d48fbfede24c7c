"""Advice and its answer, readings and the vehicle's own reference, looks at the part in place."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from garage.records.errors import RuleBroken
from garage.records.models import (
    AdviceGiven,
    AuditEntry,
    Baseline,
    Fitment,
    Job,
    LookMissed,
    PartKind,
    Reading,
)
from garage.records.services.advice_given import advice_add, advice_answer
from garage.records.services.looks import LookAnswer, look_record
from garage.records.services.technical_readings import NewReading, baselines_of, reading_add
from tests.records.factories import JobFactory, OperationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
PRESSURE = NewReading("pressure_across_filter", Decimal("4.8"), "after_work", "mbar", "idle")


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


@pytest.mark.parametrize(
    ("kind", "because"),
    [
        ("replace", "new_part"),
        ("clean_off_vehicle", "new_part"),
        ("regenerate_stationary", "completed_burn"),
        ("regenerate_driving", "completed_burn"),
        ("clear_codes", None),
    ],
)
def test_first_reading_after_the_work_is_the_vehicles_own_reference(
    job: Job, kind: str, because: str | None
) -> None:
    OperationFactory(job=job, kind=kind)
    reading_add(job=job, new=PRESSURE, at=AT)
    kept = list(Baseline.objects.values_list("because", flat=True))
    assert kept == ([] if because is None else [because])


def test_reading_on_arrival_is_no_reference_and_the_second_after_work_neither(job: Job) -> None:
    OperationFactory(job=job, kind="replace")
    reading_add(job=job, new=replace(PRESSURE, phase="arrival"), at=AT)
    assert baselines_of(vehicle=job.vehicle) == []
    first = reading_add(job=job, new=PRESSURE, at=AT)
    reading_add(job=job, new=replace(PRESSURE, value=Decimal(9)), at=AT)
    other = reading_add(job=job, new=replace(PRESSURE, condition="raised"), at=AT)
    kept = {each.reading_id for each in baselines_of(vehicle=job.vehicle)}
    assert kept == {first.pk, other.pk}


@pytest.mark.parametrize(
    ("quantity", "kind"), [("pressure_across_filter", "measured"), ("soot_mass", "modelled")]
)
def test_reading_says_whether_it_was_measured_or_reckoned(
    job: Job, quantity: str, kind: str
) -> None:
    new = replace(PRESSURE, quantity=quantity, speed_rpm=0, layout="two_hose", km_since_burn=0)
    reading = reading_add(job=job, new=new, at=AT)
    reading.refresh_from_db()
    assert reading.kind == kind
    assert (reading.speed_rpm, reading.layout, reading.km_since_burn) == (0, "two_hose", 0)


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"quantity": "mood"}, "quantity"),
        ({"value": Decimal("NaN")}, "value"),
        ({"value": Decimal(10) ** 10}, "value"),
        ({"phase": "later"}, "phase"),
        ({"unit": "x" * 17}, "unit"),
        ({"condition": "fast"}, "condition"),
        ({"layout": "three_hose"}, "layout"),
        ({"speed_rpm": 10_001}, "speed_rpm"),
        ({"speed_rpm": -1}, "speed_rpm"),
        ({"km_since_burn": 100_001}, "km_since_burn"),
    ],
)
def test_reading_that_cannot_be_is_refused(job: Job, changed: dict, column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        reading_add(job=job, new=replace(PRESSURE, **changed), at=AT)
    assert refused.value.column == column
    assert not Reading.objects.exists()


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

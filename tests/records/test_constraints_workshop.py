"""What the database refuses of what hangs on a job: advice, rechecks, readings, claims, calls."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from garage.records.models import (
    AdviceGiven,
    Baseline,
    Call,
    CallList,
    Claim,
    ComebackReview,
    Document,
    Job,
    Keeper,
    LookMissed,
    OdometerReading,
    PartKind,
    Reading,
    ReadingResolution,
    Recheck,
    Vehicle,
    Warranty,
)
from tests.records.constraints import refused_by
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    PartKindFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
DAY = date(2026, 3, 2)


@pytest.fixture
def job() -> Job:
    return JobFactory()


def advice(job: Job, **changed) -> AdviceGiven:
    return AdviceGiven.objects.create(job=job, **{"line": 1, "text": "new hoses"} | changed)


def test_advice_given_line_once_per_job(job: Job) -> None:
    advice(job)
    advice(job, line=2)
    with refused_by("advice_given_line_once_per_job"):
        advice(job)


def test_advice_given_has_text(job: Job) -> None:
    advice(job)
    with refused_by("advice_given_has_text"):
        advice(job, line=2, text="")


def test_advice_given_answer_known(job: Job) -> None:
    said = {"answered_at": AT, "answered_by": "A. Keeper"}
    advice(job, answer="chosen", **said)
    with refused_by("advice_given_answer_known"):
        advice(job, line=2, answer="maybe", **said)


@pytest.mark.parametrize("missing", ["answered_at", "answered_by"])
def test_advice_given_answer_has_time_and_name(job: Job, missing: str) -> None:
    said = {"answer": "declined", "answered_at": AT, "answered_by": "A. Keeper"}
    advice(job, **said)
    without = said | {missing: None if missing == "answered_at" else ""}
    with refused_by("advice_given_answer_has_time_and_name"):
        advice(job, line=2, **without)


def recheck(**changed) -> Recheck:
    return Recheck.objects.create(**{"job": JobFactory(), "due_on": DAY} | changed)


def test_recheck_state_known() -> None:
    recheck(state="done", ended_on=DAY)
    with refused_by("recheck_state_known"):
        recheck(state="lost", ended_on=DAY)


def test_recheck_waived_has_reason() -> None:
    recheck(state="waived", ended_on=DAY, reason="sold")
    with refused_by("recheck_waived_has_reason"):
        recheck(state="waived", ended_on=DAY)


def test_recheck_ended_has_day() -> None:
    recheck(state="due")
    with refused_by("recheck_ended_has_day"):
        recheck(state="done")


def review(**changed) -> ComebackReview:
    said = {"job": JobFactory(), "index_job": JobFactory(), "at": AT}
    return ComebackReview.objects.create(**said | changed)


def test_comeback_review_once() -> None:
    kept = review()
    review(job=kept.job)
    with refused_by("comeback_review_once"):
        review(job=kept.job, index_job=kept.index_job)


def test_comeback_review_state_known() -> None:
    review(state="confirmed")
    with refused_by("comeback_review_state_known"):
        review(state="perhaps")


def test_comeback_review_refusal_has_reason() -> None:
    review(state="refused", reason="another bank")
    with refused_by("comeback_review_refusal_has_reason"):
        review(state="refused")


def test_comeback_review_of_another_job(job: Job) -> None:
    review(job=job)
    with refused_by("comeback_review_of_another_job"):
        review(job=job, index_job=job)


def reading(job: Job, **changed) -> Reading:
    said = {"quantity": "soot_mass", "value": Decimal(4), "phase": "arrival"}
    return Reading.objects.create(job=job, **said | changed)


def test_reading_quantity_named(job: Job) -> None:
    reading(job)
    with refused_by("reading_quantity_named"):
        reading(job, quantity="")


def test_reading_phase_known(job: Job) -> None:
    reading(job, phase="recheck")
    with refused_by("reading_phase_known"):
        reading(job, phase="later")


def test_baseline_because_known(job: Job) -> None:
    Baseline.objects.create(reading=reading(job), because="new_part", kept_at=AT)
    with refused_by("baseline_because_known"):
        Baseline.objects.create(reading=reading(job), because="liked", kept_at=AT)


def test_look_missed_once_per_job(job: Job) -> None:
    kind = PartKind.objects.get(code="particulate_filter")
    LookMissed.objects.create(job=job, part_kind=kind)
    LookMissed.objects.create(job=job, part_kind=PartKindFactory())
    with refused_by("look_missed_once_per_job"):
        LookMissed.objects.create(job=job, part_kind=kind)


def warranty(**changed) -> Warranty:
    said = {"operation": OperationFactory(), "months": 12, "given_by": "supplier"}
    return Warranty.objects.create(**said | changed)


def test_warranty_has_an_end() -> None:
    warranty()
    warranty(months=None, distance_km=10_000)
    with refused_by("warranty_has_an_end"):
        warranty(months=None)


def test_warranty_giver_known() -> None:
    warranty(given_by="maker")
    with refused_by("warranty_giver_known"):
        warranty(given_by="uncle")


def claim(**changed) -> Claim:
    said = {"warranty": warranty(), "failed_at": JobFactory(), "opened_on": DAY}
    made = said | changed
    return Claim.objects.create(organisation=made["failed_at"].organisation, **made)


def test_claim_state_known() -> None:
    claim(state="sent")
    with refused_by("claim_state_known"):
        claim(state="lost")


@pytest.mark.parametrize("wrong", [{"currency": ""}, {"recovered": Decimal(-1)}])
def test_claim_recovered_has_currency(wrong: dict) -> None:
    said = {"recovered": Decimal(0), "currency": "EUR"}
    claim(**said)
    with refused_by("claim_recovered_has_currency"):
        claim(**said | wrong)


@pytest.mark.parametrize("state", ["refused", "dropped"])
def test_claim_refused_has_reason(state: str) -> None:
    claim(state=state, reason="no invoice")
    with refused_by("claim_refused_has_reason"):
        claim(state=state)


@pytest.mark.parametrize("missing", ["decided_on", "recovered"])
def test_claim_settled_has_day_and_money(missing: str) -> None:
    said = {"state": "settled", "decided_on": DAY, "recovered": Decimal(1), "currency": "EUR"}
    claim(**said)
    with refused_by("claim_settled_has_day_and_money"):
        claim(**said | {missing: None})


def test_claim_decided_not_before_sent() -> None:
    claim(sent_on=DAY, decided_on=DAY)
    with refused_by("claim_decided_not_before_sent"):
        claim(sent_on=DAY, decided_on=date(2026, 3, 1))


def document(job: Job | None, **changed) -> Document:
    said = {
        "organisation": JobFactory().organisation if job is None else job.organisation,
        "kind": "photo",
        "title": "Face",
        "stored_as": f"x{Document.objects.count()}.jpg",
        "content_type": "image/jpeg",
        "size_bytes": 1,
        "sha256": "0" * 64,
        "added_at": AT,
    }
    return Document.objects.create(job=job, **said | changed)


def test_document_belongs_to_something(job: Job) -> None:
    document(job)
    document(None, claim=claim())
    with refused_by("document_belongs_to_something"):
        document(None)


def test_document_kind_known(job: Job) -> None:
    document(job, kind="letter")
    with refused_by("document_kind_known"):
        document(job, kind="song")


def test_document_not_empty(job: Job) -> None:
    document(job, size_bytes=1)
    with refused_by("document_not_empty"):
        document(job, size_bytes=0)


def keeper(vehicle: Vehicle, **changed) -> Keeper:
    return Keeper.objects.create(vehicle=vehicle, **{"name": "A. Keeper"} | changed)


def test_keeper_one_current() -> None:
    vehicle = VehicleFactory()
    keeper(vehicle, until_on=DAY)
    keeper(vehicle)
    with refused_by("keeper_one_current"):
        keeper(vehicle)


def test_keeper_named() -> None:
    keeper(VehicleFactory())
    with refused_by("keeper_named"):
        keeper(VehicleFactory(), name="")


def test_keeper_until_not_before_from() -> None:
    keeper(VehicleFactory(), from_on=DAY, until_on=DAY)
    with refused_by("keeper_until_not_before_from"):
        keeper(VehicleFactory(), from_on=DAY, until_on=date(2026, 3, 1))


def call_list(**changed) -> CallList:
    said = {
        "organisation": VehicleFactory().organisation,
        "drawn_on": DAY,
        "silent_since_days": 365,
        "part_kind": PartKind.objects.get(code="particulate_filter"),
        "population": 1,
        "seed": 1,
    }
    return CallList.objects.create(**said | changed)


def test_call_list_silence_positive() -> None:
    call_list(silent_since_days=1)
    with refused_by("call_list_silence_positive"):
        call_list(silent_since_days=0)


def call(**changed) -> Call:
    said = {"vehicle": VehicleFactory(), "order": 1}
    made = said | changed
    return Call.objects.create(**{"call_list": made.pop("call_list", None) or call_list()} | made)


def test_call_vehicle_once_per_list() -> None:
    kept = call()
    call(vehicle=kept.vehicle)
    with refused_by("call_vehicle_once_per_list"):
        call(call_list=kept.call_list, vehicle=kept.vehicle, order=2)


def test_call_order_once_per_list() -> None:
    kept = call()
    call(call_list=kept.call_list, order=2)
    with refused_by("call_order_once_per_list"):
        call(call_list=kept.call_list, order=1)


def test_call_state_known() -> None:
    call(state="declined")
    with refused_by("call_state_known"):
        call(state="rang")


def test_call_outcome_known() -> None:
    call(outcome="sold")
    with refused_by("call_outcome_known"):
        call(outcome="stolen")


@pytest.mark.parametrize("missing", [{"called_on": None}, {"outcome": ""}])
def test_call_answered_has_day_and_outcome(missing: dict) -> None:
    said = {"state": "answered", "called_on": DAY, "outcome": "sold"}
    call(**said)
    with refused_by("call_answered_has_day_and_outcome"):
        call(**said | missing)


def resolution(reading: OdometerReading, **changed) -> ReadingResolution:
    said = {"resolved_as": "stands", "reason": "seen", "at": AT}
    return ReadingResolution.objects.create(reading=reading, **said | changed)


def test_reading_resolution_one_in_force() -> None:
    reading = OdometerReadingFactory()
    resolution(reading, withdrawn_at=AT)
    resolution(reading)
    with refused_by("reading_resolution_one_in_force"):
        resolution(reading)


def test_reading_resolution_known() -> None:
    resolution(OdometerReadingFactory(), resolved_as="set_aside")
    with refused_by("reading_resolution_known"):
        resolution(OdometerReadingFactory(), resolved_as="ignored")


def test_reading_resolution_has_reason() -> None:
    resolution(OdometerReadingFactory())
    with refused_by("reading_resolution_has_reason"):
        resolution(OdometerReadingFactory(), reason="")


@pytest.mark.parametrize("how", [{"typed": Decimal(1), "unit": "km"}, {"read_on": DAY}])
def test_reading_resolution_mended_says_how(how: dict) -> None:
    resolution(OdometerReadingFactory(), resolved_as="mended", **how)
    for wrong in ({}, {"unit": "km"}, {"typed": Decimal(1)}):
        with refused_by("reading_resolution_mended_says_how"):
            resolution(OdometerReadingFactory(), resolved_as="mended", **wrong)

"""Claims open by themselves, say what they lack, and move only where they may."""

import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.http import Http404

from garage.records.choices import ClaimState, JobPhase
from garage.records.claims import (
    access_claim,
    claim_evidence,
    claims_listed,
    claims_not_in_time,
)
from garage.records.documents import Upload
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Claim, Reading
from garage.records.services.claims import (
    Settlement,
    claim_end,
    claim_reopen,
    claim_send,
    claim_settle,
    claims_open,
)
from garage.records.services.documents import document_add
from garage.records.services.warranties import WarrantyTerms, warranty_set
from tests.records.cast import cast_make
from tests.records.factories import (
    OperationFactory,
)
from tests.records.stories import TERMS, fitted_and_failed

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def opened(**changed) -> Claim:
    vehicle, _ = fitted_and_failed(**changed)
    (claim,) = claims_open(vehicle_ids=[vehicle.pk], at=AT)
    return claim


def test_claim_opens_by_itself_once() -> None:
    vehicle, operations = fitted_and_failed()
    (claim,) = claims_open(vehicle_ids=[vehicle.pk], at=AT)
    assert claim.failed_at == operations[1].job
    assert claim.due_on == date(2025, 6, 5)
    assert claims_open(vehicle_ids=[vehicle.pk], at=AT) == []
    assert Claim.objects.count() == 1


@pytest.mark.parametrize(
    "changed",
    [
        {"km": (100_000, 140_001)},
        {"terms": WarrantyTerms(given_by="supplier", months=11)},
        {"removed_because": "planned"},
        {"removed_because": "damaged_by_other_fault"},
    ],
)
def test_claim_does_not_open_outside_the_terms(changed: dict) -> None:
    vehicle, _ = fitted_and_failed(**changed)
    assert claims_open(vehicle_ids=[vehicle.pk], at=AT) == []


def test_claim_opens_where_the_distance_is_not_known_and_asks_for_it() -> None:
    claim = opened(km=(100_000, None))
    evidence = claim_evidence(claim=claim)
    assert evidence.answer is not None
    assert evidence.answer.within is None
    assert any("distance driven" in item.words for item in evidence.missing)


def test_claim_opens_where_nobody_said_why_on_an_unplanned_job() -> None:
    assert opened(removed_because="").state == ClaimState.OPEN


def test_claim_evidence_says_what_is_missing_until_it_is_there() -> None:
    claim = opened()
    evidence = claim_evidence(claim=claim)
    assert evidence.driven_km == 12_000
    before = {item.words for item in evidence.missing}
    failed_at, fitted_at = claim.failed_at, claim.warranty.operation.job
    failed_at.cause, failed_at.complaint = "part_quality", "no power"
    failed_at.save()
    claim.warranty.operation.part_mark = "A-17"
    for job, phase in ((fitted_at, JobPhase.AFTER_WORK), (failed_at, JobPhase.ARRIVAL)):
        Reading.objects.create(
            job=job, quantity="pressure_across_filter", value=Decimal(12), unit="mbar", phase=phase
        )
    jpeg = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\x00" * 100
    for job, kind in ((fitted_at, "invoice"), (failed_at, "photo")):
        document_add(
            belongs_to=job, upload=Upload("as taken", kind, io.BytesIO(jpeg), len(jpeg)), at=AT
        )
    assert len(before) == 7
    assert claim_evidence(claim=claim).missing == []


def test_claim_readings_of_another_phase_are_no_evidence() -> None:
    claim = opened()
    Reading.objects.create(
        job=claim.failed_at,
        quantity="pressure_across_filter",
        value=Decimal(12),
        phase=JobPhase.AFTER_WORK,
    )
    assert claim_evidence(claim=claim).readings_at_failure == []


def test_claim_is_sent_and_settled_with_its_money() -> None:
    claim = claim_send(claim=opened(), sent_on=date(2026, 3, 2), at=AT)
    paid = Settlement(date(2026, 3, 20), Decimal("310.50"), "eur")
    claim = claim_settle(claim=claim, settlement=paid, at=AT)
    claim.refresh_from_db()
    assert (claim.state, claim.recovered, claim.currency) == ("settled", Decimal("310.50"), "EUR")
    assert AuditEntry.objects.filter(thing="claim", thing_id=claim.pk).count() == 3


def test_claim_settled_with_nought_is_settled() -> None:
    claim = claim_send(claim=opened(), sent_on=date(2026, 3, 2), at=AT)
    paid = Settlement(date(2026, 3, 20), Decimal(0), "EUR")
    assert claim_settle(claim=claim, settlement=paid, at=AT).recovered == 0


@pytest.mark.parametrize(
    ("paid", "column"),
    [
        (Settlement(date(2026, 3, 20), Decimal(-1), "EUR"), "recovered"),
        (Settlement(date(2026, 3, 20), Decimal("NaN"), "EUR"), "recovered"),
        (Settlement(date(2026, 3, 20), Decimal(1), ""), "currency"),
        (Settlement(date(2026, 3, 1), Decimal(1), "EUR"), "decided_on"),
    ],
)
def test_claim_settlement_that_cannot_be_is_refused(paid: Settlement, column: str) -> None:
    claim = claim_send(claim=opened(), sent_on=date(2026, 3, 2), at=AT)
    with pytest.raises(RuleBroken) as refused:
        claim_settle(claim=claim, settlement=paid, at=AT)
    assert refused.value.column == column


def test_claim_moves_only_where_it_may() -> None:
    claim = opened()
    with pytest.raises(RuleBroken, match="open may become sent, dropped"):
        claim_settle(claim=claim, settlement=Settlement(AT.date(), Decimal(1), "EUR"), at=AT)
    dropped = claim_end(claim=claim, state=ClaimState.DROPPED, reason="too old", at=AT)
    assert claim_reopen(claim=dropped, at=AT).state == ClaimState.OPEN


def test_claim_ends_without_money_only_for_a_reason() -> None:
    claim = claim_send(claim=opened(), sent_on=date(2026, 3, 2), at=AT)
    with pytest.raises(RuleBroken, match="for a reason"):
        claim_end(claim=claim, state=ClaimState.REFUSED, reason=" ", at=AT)
    refused = claim_end(claim=claim, state=ClaimState.REFUSED, reason="no oil invoice", at=AT)
    assert claim_send(claim=refused, sent_on=date(2026, 4, 2), at=AT).state == ClaimState.SENT


def test_claims_not_in_time_are_those_past_their_last_day() -> None:
    scope = cast_make().scope
    claim = opened()
    organisation = claim.organisation
    late = claims_not_in_time(scope=scope(organisation), as_of=date(2025, 6, 6))
    assert list(late) == [claim]
    in_time = claims_not_in_time(scope=scope(organisation), as_of=date(2025, 6, 5))
    assert not in_time.exists()
    claim_send(claim=claim, sent_on=date(2025, 6, 5), at=AT)
    assert not claims_not_in_time(scope=scope(organisation), as_of=date(2026, 6, 6)).exists()
    Claim.objects.update(sent_on=date(2025, 6, 6))
    assert claims_not_in_time(scope=scope(organisation), as_of=date(2026, 6, 6)).exists()


def test_claim_of_another_organisation_is_not_found() -> None:
    cast = cast_make()
    claim = opened(organisation=cast.alder)
    assert access_claim(scope=cast.scope(cast.alder), claim_id=claim.pk) == claim
    assert list(claims_listed(scope=cast.scope(cast.alder))) == [claim]
    assert not claims_listed(scope=cast.scope(cast.cedar)).exists()
    with pytest.raises(Http404):
        access_claim(scope=cast.scope(cast.cedar), claim_id=claim.pk)


@pytest.mark.parametrize(
    ("terms", "column"),
    [
        (WarrantyTerms(given_by="supplier"), "months"),
        (WarrantyTerms(given_by="uncle", months=1), "given_by"),
        (WarrantyTerms(given_by="supplier", months=0), "months"),
        (WarrantyTerms(given_by="supplier", months=1, distance_km=0), "distance_km"),
        (WarrantyTerms(given_by="supplier", months=1, conditions="x" * 501), "conditions"),
    ],
)
def test_warranty_terms_that_cannot_be_are_refused(terms: WarrantyTerms, column: str) -> None:
    _, operations = fitted_and_failed()
    with pytest.raises(RuleBroken) as refused:
        warranty_set(operation=operations[1], terms=terms, at=AT)
    assert refused.value.column == column


def test_warranty_belongs_to_a_line_that_fitted_a_part() -> None:
    with pytest.raises(RuleBroken, match="that fitted a part"):
        warranty_set(operation=OperationFactory(), terms=TERMS, at=AT)


def test_warranty_set_again_keeps_what_changed_in_the_trail() -> None:
    _, operations = fitted_and_failed()
    warranty_set(operation=operations[0], terms=WarrantyTerms("supplier", months=12), at=AT)
    entry = AuditEntry.objects.filter(thing="warranty").order_by("-serial").first()
    assert entry.changes["months"] == [24, 12]
    count = AuditEntry.objects.count()
    warranty_set(operation=operations[0], terms=WarrantyTerms("supplier", months=12), at=AT)
    assert AuditEntry.objects.count() == count

"""Claims on the pages: seen, moved, printed, and documents opened."""

import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from garage.pages.sheets.claim import claim_data, claim_sheet
from garage.records.claims import claim_evidence
from garage.records.models import Claim, Document, Warranty
from garage.records.services.claims import claims_open
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import text_of
from tests.records.factories import OperationFactory
from tests.records.stories import fitted_and_failed

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\x00" * 100
PDF = b"%PDF-1.7\n" + b"x" * 50 + b"\n%%EOF"


@pytest.fixture
def claim(scene: Scene) -> Claim:
    vehicle, _ = fitted_and_failed(organisation=scene.cast.alder)
    (opened,) = claims_open(vehicle_ids=[vehicle.pk], at=AT)
    return opened


def test_claims_are_listed_and_those_too_late_come_first(claim: Claim, alder: Client) -> None:
    told = text_of(alder.get("/claims/"))
    assert f"Claim {claim.pk}" in told
    assert "Not made in time" in told
    assert "There is no such claim" in text_of(alder.get("/claims/?state=settled"))


def test_claim_says_what_is_missing(claim: Claim, alder: Client) -> None:
    told = text_of(alder.get(f"/claims/{claim.pk}/"))
    assert "Missing: the cause of the failure" in told
    assert "There: the distance driven" in told


def test_claim_offers_no_move_to_who_may_only_look(claim: Claim, alder: Client) -> None:
    assert "What came of it" not in text_of(alder.get(f"/claims/{claim.pk}/"))
    answer = alder.post(f"/claims/{claim.pk}/sent/", {"sent-sent_on": "2026-03-02"})
    assert answer.status_code == 403


def test_claim_is_moved_by_a_technician(claim: Claim, technician: Client) -> None:
    answer = technician.post(
        f"/claims/{claim.pk}/sent/", {"sent-sent_on": "2026-03-02"}, follow=True
    )
    assert "is now sent" in text_of(answer)
    claim.refresh_from_db()
    assert (claim.state, claim.sent_on) == ("sent", date(2026, 3, 2))


def test_claim_move_that_is_refused_says_why_and_keeps_what_was_typed(
    claim: Claim, technician: Client
) -> None:
    Claim.objects.filter(pk=claim.pk).update(state="sent", sent_on=date(2026, 3, 2))
    answer = technician.post(
        f"/claims/{claim.pk}/settled/",
        {
            "settled-decided_on": "2026-03-01",
            "settled-recovered": "310.50",
            "settled-currency": "EUR",
        },
    )
    assert "on or after the day it was sent" in text_of(answer)
    assert 'value="310.50"' in answer.content.decode()


def test_claim_of_another_is_not_found(claim: Claim, client_of: ClientOf, scene: Scene) -> None:
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"/claims/{claim.pk}/").status_code == 404
    assert cedar.get(f"/claims/{claim.pk}/sheet.pdf").status_code == 404
    assert cedar.post(f"/claims/{claim.pk}/sent/").status_code == 404
    assert f"Claim {claim.pk}" not in text_of(cedar.get("/claims/"))


def test_document_is_added_and_opened(claim: Claim, technician: Client, alder: Client) -> None:
    said = {"kind": "photo", "title": "Filter face", "content": SimpleUploadedFile("x.svg", JPEG)}
    assert technician.post(f"/claims/{claim.pk}/documents/", said).status_code == 302
    document = Document.objects.get()
    answer = alder.get(f"/documents/{document.pk}/")
    assert b"".join(answer.streaming_content) == JPEG
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_document_of_a_job_is_added_from_its_page(
    claim: Claim, technician: Client, alder: Client
) -> None:
    job = claim.failed_at
    page = f"/vehicles/{job.vehicle_id}/"
    assert f"/jobs/{job.pk}/#documents" in technician.get(page).content.decode()
    assert f"/operations/{claim.warranty.operation_id}/" in technician.get(page).content.decode()
    assert f"/jobs/{job.pk}/#documents" not in alder.get(page).content.decode()
    content = SimpleUploadedFile("x.jpg", JPEG)
    said = {"document-kind": "photo", "document-title": "Face", "document-content": content}
    assert alder.post(f"/jobs/{job.pk}/document/", said).status_code == 403
    content.seek(0)
    assert technician.post(f"/jobs/{job.pk}/document/", said).status_code == 302
    assert "Face" in text_of(alder.get(page))
    empty = technician.post(f"/jobs/{job.pk}/document/", {})
    assert "This field is required" in text_of(empty)


def test_document_that_is_no_photo_is_saved_not_shown(claim: Claim, technician: Client) -> None:
    said = {"kind": "invoice", "title": "Invoice", "content": SimpleUploadedFile("x.pdf", PDF)}
    technician.post(f"/claims/{claim.pk}/documents/", said)
    answer = technician.get(f"/documents/{Document.objects.get().pk}/")
    answer.close()
    assert answer.headers["Content-Disposition"].startswith("attachment")


def test_document_of_another_kind_is_refused_in_words(claim: Claim, technician: Client) -> None:
    said = {
        "kind": "photo",
        "title": "Page",
        "content": SimpleUploadedFile("photo.jpg", b"<!DOCTYPE html><script>"),
    }
    answer = technician.post(f"/claims/{claim.pk}/documents/", said)
    assert "by its content" in text_of(answer)
    assert not Document.objects.exists()


def test_document_of_another_is_not_found(
    claim: Claim, technician: Client, client_of: ClientOf, scene: Scene
) -> None:
    said = {"kind": "photo", "title": "Face", "content": SimpleUploadedFile("x.jpg", JPEG)}
    technician.post(f"/claims/{claim.pk}/documents/", said)
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.get(f"/documents/{Document.objects.get().pk}/").status_code == 404
    job = claim.failed_at_id
    again = {"kind": "photo", "title": "Face", "content": io.BytesIO(JPEG)}
    assert cedar.post(f"/jobs/{job}/documents/", again).status_code == 404


def test_warranty_terms_are_kept_from_the_page(
    claim: Claim, technician: Client, alder: Client
) -> None:
    address = f"/operations/{claim.warranty.operation_id}/warranty/"
    refused = alder.get(address)
    assert refused.status_code == 403
    assert "needs the role technician" in text_of(refused)
    assert 'value="40000"' in technician.get(address).content.decode()
    answer = technician.post(address, {"given_by": "maker", "months": "36"})
    assert answer.status_code == 302
    kept = Warranty.objects.get()
    assert (kept.given_by, kept.months, kept.distance_km) == ("maker", 36, None)
    refused = technician.post(address, {"given_by": "maker"})
    assert "after some months or some km" in text_of(refused)


def test_claim_sheet_is_a_tagged_pdf_and_the_same_each_time(claim: Claim, alder: Client) -> None:
    answer = alder.get(f"/claims/{claim.pk}/sheet.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    evidence = claim_evidence(claim=claim)
    made_on = date(2026, 3, 2)
    pdf = claim_sheet(evidence, made_on=made_on)
    assert pdf.startswith(b"%PDF-")
    assert b"StructTreeRoot" in pdf
    assert pdf == claim_sheet(evidence, made_on=made_on)


def test_claim_sheet_leaves_out_what_is_not_known(claim: Claim) -> None:
    data = claim_data(claim_evidence(claim=claim), made_on=date(2026, 3, 2))
    assert data["driven"] == "12\u00a0000\u00a0km"
    assert [name for name, _ in data["failure"]] == []
    assert data["costs"] == []


def test_claim_sheet_adds_up_the_work_on_the_part(claim: Claim) -> None:
    job = claim.failed_at
    replaced = job.operations.get()
    replaced.labour_cost, replaced.parts_cost = Decimal("100"), Decimal("400.50")
    replaced.tax_cost, replaced.currency = Decimal("90"), "EUR"
    replaced.save()
    looked = {"kind": "inspect", "part_kind": replaced.part_kind, "currency": "EUR"}
    OperationFactory(job=job, labour_cost=Decimal("20"), **looked)
    OperationFactory(job=job, kind="adjust", labour_cost=Decimal("999"), currency="EUR")
    data = claim_data(claim_evidence(claim=claim), made_on=date(2026, 3, 2))
    assert data["costs"] == [
        ["Labour", "120.00 EUR"],
        ["Parts", "400.50 EUR"],
        ["Tax", "90.00 EUR"],
        ["Together", "610.50 EUR"],
    ]

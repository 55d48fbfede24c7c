"""What speaks for a claim, what is still missing, and which claims wait or came too late."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, QuerySet

from garage.records.choices import DocumentKind, JobPhase
from garage.records.models import Claim, Document, Fitment, Job, Operation, Reading
from garage.records.permissions import Scope, access
from garage.records.warranty import Span, Terms, TermsAnswer, terms_answer


@dataclass(frozen=True)
class ChecklistItem:
    """One thing a claim ought to have; `how` says what to do where it is missing."""

    words: str
    met: bool
    how: str


@dataclass(frozen=True)
class ClaimEvidence:
    """Everything the register knows for a claim."""

    claim: Claim
    fitted_at: Job
    failed_at: Job
    fitment: Fitment | None
    answer: TermsAnswer | None
    driven_km: int | None
    readings_at_fitting: list[Reading]
    readings_at_failure: list[Reading]
    documents: list[Document]
    checklist: list[ChecklistItem]

    @property
    def missing(self) -> list[ChecklistItem]:
        return [item for item in self.checklist if not item.met]


def claims_in_scope(*, scope: Scope) -> QuerySet[Claim]:
    return Claim.objects.filter(organisation_id__in=scope.organisation_ids).select_related(
        "warranty__operation__part_kind",
        "warranty__operation__job__vehicle__engine_family",
        "failed_at",
        "organisation",
    )


def claims_listed(*, scope: Scope, state: str = "") -> QuerySet[Claim]:
    """Claims in scope, those that must be sent soonest first; `state` narrows the list."""
    claims = claims_in_scope(scope=scope)
    if state:
        claims = claims.filter(state=state)
    return claims.order_by("due_on", "-opened_on", "-pk")


def claims_not_in_time(*, scope: Scope, as_of: date) -> QuerySet[Claim]:
    """Claims whose last day passed before they were sent, or that were sent after it."""
    late = Q(sent_on__isnull=True, due_on__lt=as_of) | Q(sent_on__gt=F("due_on"))
    return claims_in_scope(scope=scope).filter(late).order_by("due_on", "pk")


def access_claim(*, scope: Scope, claim_id: int) -> Claim:
    """The claim, for who may see it; Http404 else."""
    return access(claims_in_scope(scope=scope), scope=scope, pk=claim_id)


def access_warrantable(*, scope: Scope, operation_id: int) -> Operation:
    """The operation whose part may carry a warranty, for who may see it; Http404 else."""
    operations = Operation.objects.select_related("job__vehicle", "job__organisation", "part_kind")
    return access(operations, scope=scope, pk=operation_id, owner="job__organisation_id")


def claim_evidence(*, claim: Claim) -> ClaimEvidence:
    """Gather what speaks for a claim that the reader may see (`access_claim`)."""
    operation = claim.warranty.operation
    fitted_at, failed_at = operation.job, claim.failed_at
    fitment = Fitment.objects.filter(
        fitted_at=fitted_at,
        removed_at=failed_at,
        part_kind_id=operation.part_kind_id,
        position=operation.position,
    ).first()
    answer, driven_km = None, None
    if fitment is not None and fitment.fitted_on and fitment.removed_on:
        span = Span(fitment.fitted_on, fitment.removed_on, fitment.fitted_km, fitment.removed_km)
        answer = terms_answer(Terms(claim.warranty.months, claim.warranty.distance_km), span)
        driven_km = span.driven_km
    at_fitting = list(
        Reading.objects.filter(job=fitted_at, phase=JobPhase.AFTER_WORK).order_by("pk")
    )
    at_failure = list(Reading.objects.filter(job=failed_at, phase=JobPhase.ARRIVAL).order_by("pk"))
    documents = list(
        Document.objects.filter(
            Q(claim=claim) | Q(job__in=(fitted_at, failed_at)),
            organisation_id=claim.organisation_id,
        ).order_by("added_at", "pk")
    )
    evidence = ClaimEvidence(
        claim=claim,
        fitted_at=fitted_at,
        failed_at=failed_at,
        fitment=fitment,
        answer=answer,
        driven_km=driven_km,
        readings_at_fitting=at_fitting,
        readings_at_failure=at_failure,
        documents=documents,
        checklist=[],
    )
    evidence.checklist.extend(_checklist(evidence))
    return evidence


def _checklist(evidence: ClaimEvidence) -> list[ChecklistItem]:
    claim, failed_at = evidence.claim, evidence.failed_at
    operation = claim.warranty.operation
    fitted_docs = [each for each in evidence.documents if each.job_id == evidence.fitted_at.pk]
    failed_docs = [each for each in evidence.documents if each.job_id == failed_at.pk]
    loose = [each for each in evidence.documents if each.claim_id == claim.pk]

    def has(documents: list[Document], kind: str) -> bool:
        return any(each.kind == kind for each in (*documents, *loose))

    return [
        ChecklistItem(
            "the distance driven, from an odometer that stands at fitting and at failure",
            evidence.driven_km is not None,
            "Enter or resolve the odometer reading of both jobs.",
        ),
        ChecklistItem(
            "the cause of the failure",
            bool(failed_at.cause),
            "State the cause on the job that removed the part.",
        ),
        ChecklistItem(
            "what the customer complained of, or the trouble codes",
            bool(failed_at.complaint or failed_at.trouble_codes),
            "Enter them on the job that removed the part.",
        ),
        ChecklistItem(
            "a number or mark of the part",
            bool(operation.part_mark),
            "Enter the number on the line that fitted it.",
        ),
        ChecklistItem(
            "readings taken after fitting",
            bool(evidence.readings_at_fitting),
            "They cannot be taken afterwards; the next fitting can have them.",
        ),
        ChecklistItem(
            "readings taken when it had failed",
            bool(evidence.readings_at_failure),
            "Enter those taken on arrival.",
        ),
        ChecklistItem(
            "the invoice of the fitting",
            has(fitted_docs, DocumentKind.INVOICE),
            "Add it to the job that fitted the part.",
        ),
        ChecklistItem(
            "a photo of the failed part",
            has(failed_docs, DocumentKind.PHOTO),
            "Add it to the job that removed the part.",
        ),
    ]

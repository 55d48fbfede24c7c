"""What a job's own page needs: everything said at it, what it cost, and what still waits."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Prefetch, QuerySet

from garage.records.choices import FILTER_PART_KIND, ComebackState, CustomerAnswer
from garage.records.importing.operations import REMOVING
from garage.records.models import (
    AdviceGiven,
    Claim,
    ComebackReview,
    Document,
    Fitment,
    Job,
    OdometerReading,
    Operation,
    PartKind,
    Reading,
    Recheck,
    Vehicle,
)
from garage.records.permissions import Scope, access
from garage.records.policies import CAUSE_NEEDED, cause_is_needed

OPEN, CLOSED = "open", "closed"


@dataclass(frozen=True)
class Cost:
    """What a job cost in one currency; a kind of cost nobody wrote is None, never nought."""

    currency: str
    labour: Decimal | None
    parts: Decimal | None
    tax: Decimal | None

    @property
    def total(self) -> Decimal:
        known = (each for each in (self.labour, self.parts, self.tax) if each is not None)
        return sum(known, Decimal(0))


@dataclass(frozen=True)
class Waits:
    """Something a job still waits for: in words, and the part of the page where it is done."""

    words: str
    place: str


@dataclass(frozen=True)
class JobSheet:
    """Everything recorded of one job, each list in the order in which it was written."""

    job: Job
    reading: OdometerReading | None
    operations: list[Operation]
    costs: list[Cost]
    comebacks: list[ComebackReview]
    advice: list[AdviceGiven]
    readings: list[Reading]
    documents: list[Document]
    recheck: Recheck | None
    claims: list[Claim]
    cause_is_needed: bool
    waits: list[Waits]


def access_operation(*, scope: Scope, operation_id: int) -> Operation:
    """The operation, for who may see it; Http404 else."""
    rows = Operation.objects.select_related("job__organisation", "job__vehicle", "part_kind")
    return access(rows, scope=scope, pk=operation_id, owner="job__organisation_id")


def access_review(*, scope: Scope, review_id: int) -> ComebackReview:
    """The proposed comeback, for who may see it; Http404 else."""
    rows = ComebackReview.objects.select_related("job__organisation", "index_job")
    return access(rows, scope=scope, pk=review_id, owner="job__organisation_id")


def access_advice(*, scope: Scope, advice_id: int) -> AdviceGiven:
    """The advice, for who may see it; Http404 else."""
    rows = AdviceGiven.objects.select_related("job__organisation")
    return access(rows, scope=scope, pk=advice_id, owner="job__organisation_id")


def jobs_listed(*, scope: Scope, state: str = "") -> QuerySet[Job]:
    """Jobs in scope: the open ones with the longest waiting first, others the newest first."""
    jobs = (
        Job.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("vehicle__engine_family", "organisation", "technician")
        .prefetch_related("vehicle__marks", Prefetch("operations", Operation.objects.order_by()))
    )
    if state == OPEN:
        return jobs.filter(closed_on__isnull=True).order_by("opened_on", "pk")
    if state == CLOSED:
        jobs = jobs.filter(closed_on__isnull=False)
    return jobs.order_by("-opened_on", "-pk")


def parts_in_place(*, vehicle: Vehicle, part_kind: PartKind) -> list[Fitment]:
    """The parts of this kind that the records say are in the vehicle, by position."""
    rows = Fitment.objects.filter(vehicle=vehicle, part_kind=part_kind, removed_at__isnull=True)
    return list(rows.select_related("fitted_at", "part_kind").order_by("position"))


def was_exchanged(operations: Iterable[Operation]) -> bool:
    """Whether the filter came out at this job: then a look at what is in place now tells nothing
    of the one that came in, and the operation itself says which it was."""
    return any(
        each.kind in REMOVING
        and each.part_kind is not None
        and each.part_kind.code == FILTER_PART_KIND
        for each in operations
    )


def job_sheet(*, job: Job) -> JobSheet:
    """Gather a job that the reader may see (`access_job`)."""
    operations = list(job.operations.select_related("part_kind", "warranty").order_by("line"))
    the_filter = PartKind.objects.get(code=FILTER_PART_KIND)
    reviews = job.comeback_reviews.select_related("index_job").order_by("pk")
    sheet = JobSheet(
        job=job,
        reading=OdometerReading.objects.filter(job=job).first(),
        operations=operations,
        costs=costs_of(operations),
        comebacks=list(reviews),
        advice=list(job.advice_given.order_by("line")),
        readings=list(
            job.technical_readings.select_related("baseline", "instrument").order_by("pk")
        ),
        documents=list(job.documents.order_by("pk")),
        recheck=Recheck.objects.filter(job=job).first(),
        claims=list(job.claims.select_related("warranty__operation__part_kind").order_by("pk")),
        cause_is_needed=cause_is_needed(operations),
        waits=[],
    )
    if job.closed_on is None:
        sheet.waits.extend(_waits(sheet, the_filter))
    return sheet


def costs_of(operations: Iterable[Operation]) -> list[Cost]:
    """Labour, parts and tax of these operations apart, each currency by itself."""
    by_currency: dict[str, list[Operation]] = {}
    for each in operations:
        if each.currency:
            by_currency.setdefault(each.currency, []).append(each)
    return [
        Cost(
            currency,
            _sum(each.labour_cost for each in lines),
            _sum(each.parts_cost for each in lines),
            _sum(each.tax_cost for each in lines),
        )
        for currency, lines in sorted(by_currency.items())
    ]


def causes_counted(*, scope: Scope, family_id: int | None = None) -> list[tuple[str, int]]:
    """Closed jobs that replaced or cleaned a filter, by the code of their cause, the commonest
    first; an empty code: none was written, as in older records and imports."""
    jobs = Job.objects.filter(
        organisation_id__in=scope.organisation_ids,
        closed_on__isnull=False,
        operations__kind__in=CAUSE_NEEDED,
        operations__part_kind__code=FILTER_PART_KIND,
    )
    if family_id is not None:
        jobs = jobs.filter(vehicle__engine_family_id=family_id)
    counted = jobs.order_by().values_list("cause").annotate(jobs=Count("pk", distinct=True))
    return sorted(counted, key=lambda row: (-row[1], row[0]))


def _sum(amounts: Iterable[Decimal | None]) -> Decimal | None:
    known = [each for each in amounts if each is not None]
    return sum(known, Decimal(0)) if known else None


def _waits(sheet: JobSheet, the_filter: PartKind) -> Iterable[Waits]:
    job = sheet.job
    proposed = [each for each in sheet.comebacks if each.state == ComebackState.PROPOSED]
    if proposed:
        yield Waits("Say whether it is the comeback of an earlier job.", "comebacks")
    if sheet.reading is None:
        yield Waits("No odometer is written: without it no distance can be counted.", "facts")
    of_filter = [each for each in sheet.operations if each.part_kind == the_filter]
    looked = any(each.found_in_place or each.part_origin for each in of_filter)
    if was_exchanged(of_filter) and not any(each.found_in_place for each in of_filter):
        yield Waits(
            f"Was the old {the_filter.name} the one last recorded? Say it with the operation that "
            "took it out.",
            "operations",
        )
    elif not looked and not job.looks_missed.filter(part_kind=the_filter).exists():
        yield Waits(f"Is the {the_filter.name} in place the one last recorded?", "look")
    if job.repaired_elsewhere is None:
        yield Waits("The keeper was not asked what was repaired elsewhere.", "facts")
    if any(each.answer == CustomerAnswer.OPEN for each in sheet.advice):
        yield Waits("Advice waits for the customer's answer.", "advice")
    if sheet.cause_is_needed and not job.cause:
        yield Waits("To close it, say why the filter filled or failed.", "close")

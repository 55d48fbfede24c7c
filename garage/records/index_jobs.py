"""Which operation a job counts under, and which earlier jobs a new one may be the comeback of."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from garage.records.choices import OperationKind
from garage.records.models import ComebackReview, Job, OdometerReading
from garage.records.unplanned import was_unplanned

#: From the strongest to the weakest: a job counts once, under the strongest it has.
STRENGTH = (
    OperationKind.REPLACE,
    OperationKind.CLEAN_OFF_VEHICLE,
    OperationKind.CLEAN_ON_VEHICLE,
    OperationKind.REGENERATE_STATIONARY,
    OperationKind.REGENERATE_DRIVING,
    OperationKind.CLEAR_CODES,
)
#: The longest windows in which comebacks are reported.
WINDOW_DAYS = 365
WINDOW_KM = 20_000


@dataclass(frozen=True)
class Proposal:
    """An earlier job that this one may be the comeback of; `after_km` None: not known."""

    index_job: Job
    operation: str
    after_days: int
    after_km: int | None


def strongest_of(kinds: Iterable[str]) -> str | None:
    """The strongest of these operations; None where none of them makes a job an index."""
    found = set(kinds)
    return next((kind.value for kind in STRENGTH if kind in found), None)


def comeback_proposals(*, job: Job) -> list[Proposal]:
    """Earlier closed unplanned jobs on the same vehicle and system, within their windows, the
    latest first; those a person has answered already are left out.

    A planned job is nobody's comeback. Only jobs of the same organisation are looked at: another
    workshop's history needs the keeper's consent.
    """
    if not was_unplanned(job.planned, complaint=job.complaint, trouble_codes=job.trouble_codes):
        return []
    answered = ComebackReview.objects.filter(job=job).exclude(state="proposed")
    earlier = (
        Job.objects.filter(
            vehicle_id=job.vehicle_id,
            organisation_id=job.organisation_id,
            opened_on__lte=job.opened_on,
            closed_on__gte=job.opened_on - timedelta(days=WINDOW_DAYS),
            closed_on__lte=job.opened_on,
        )
        .exclude(pk=job.pk)
        .exclude(pk__in=answered.values("index_job_id"))
        .prefetch_related("operations")
        .order_by("-closed_on", "-pk")
    )
    here_km = _km_at(job)
    found = []
    for each in earlier:
        unplanned = was_unplanned(
            each.planned, complaint=each.complaint, trouble_codes=each.trouble_codes
        )
        operation = strongest_of(
            line.kind for line in each.operations.all() if line.system == job.system
        )
        if not unplanned or operation is None or each.closed_on is None:
            continue
        there_km = _km_at(each)
        after_km = None if here_km is None or there_km is None else here_km - there_km
        if after_km is None or after_km <= WINDOW_KM:
            found.append(Proposal(each, operation, _days(each.closed_on, job.opened_on), after_km))
    return found


def _days(begun_on: date, ended_on: date) -> int:
    return (ended_on - begun_on).days


def _km_at(job: Job) -> int | None:
    return OdometerReading.objects.filter(job=job, doubt="").values_list("km", flat=True).first()

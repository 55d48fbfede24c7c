"""Which rechecks are due, which are overdue, and by how much."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from garage.records.choices import RecheckState
from garage.records.models import OdometerReading, Recheck
from garage.records.permissions import Scope, access


@dataclass(frozen=True)
class RecheckDue:
    """A recheck that waits. `overdue_days` is 0 until its day; `over_km` None: not known, and
    above 0 where a later reading shows the vehicle beyond its distance."""

    recheck: Recheck
    overdue_days: int
    over_km: int | None

    @property
    def is_overdue(self) -> bool:
        return self.overdue_days > 0 or (self.over_km is not None and self.over_km > 0)


def rechecks_in_scope(*, scope: Scope) -> QuerySet[Recheck]:
    return Recheck.objects.filter(job__organisation_id__in=scope.organisation_ids).select_related(
        "job__vehicle__engine_family", "job__organisation", "done_at"
    )


def access_recheck(*, scope: Scope, recheck_id: int) -> Recheck:
    """The recheck, for who may see it; Http404 else."""
    rechecks = rechecks_in_scope(scope=scope)
    return access(rechecks, scope=scope, pk=recheck_id, owner="job__organisation_id")


def rechecks_due(*, scope: Scope, as_of: date) -> list[RecheckDue]:
    """Rechecks that wait, the longest overdue first."""
    waiting = list(
        rechecks_in_scope(scope=scope)
        .filter(state=RecheckState.DUE)
        .prefetch_related("job__vehicle__marks")
        .order_by("due_on", "pk")
    )
    # In order of their days, so that the last of each vehicle is the one kept.
    last_km = dict(
        OdometerReading.objects.filter(
            vehicle_id__in={each.job.vehicle_id for each in waiting}, doubt="", read_on__lte=as_of
        )
        .order_by("read_on", "km")
        .values_list("vehicle_id", "km")
    )
    return [_due(each, last_km.get(each.job.vehicle_id), as_of) for each in waiting]


def _due(recheck: Recheck, last_km: int | None, as_of: date) -> RecheckDue:
    over_km = None
    if recheck.due_km is not None and last_km is not None:
        over_km = max(0, last_km - recheck.due_km)
    return RecheckDue(recheck, max(0, (as_of - recheck.due_on).days), over_km)

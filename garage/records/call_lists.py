"""Who is silent, who is on a call list, and what the answers add up to."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Max, Q, QuerySet

from garage.records.choices import CallState
from garage.records.models import Call, CallList, Keeper, Organisation, Vehicle
from garage.records.permissions import Scope, access


@dataclass(frozen=True)
class CallFigures:
    """What the calls of a list came to; each count is of vehicles.

    `stayed_away` are those whose part was replaced elsewhere and who do not mean to come again:
    what the stay-away share is measured by. `part_not_known` answered, but could not say.
    """

    drawn: int
    population: int
    waiting: int
    not_reached: int
    declined: int
    answered: int
    replaced_elsewhere: int
    stayed_away: int
    part_not_known: int


def silent_vehicles(
    *, organisation: Organisation, silent_since_days: int, as_of: date
) -> QuerySet[Vehicle]:
    """Vehicles that have been here, are not known to be gone, and whose last job is that long ago.

    A vehicle whose personal data was erased has nobody to ask, and is not among them.
    """
    return (
        Vehicle.objects.filter(organisation=organisation, erased_on__isnull=True)
        .filter(Q(ended_on__isnull=True) | Q(ended_on__gt=as_of))
        .annotate(
            last_job_on=Max(
                "jobs__opened_on",
                filter=Q(jobs__organisation=organisation, jobs__opened_on__lte=as_of),
            )
        )
        .filter(last_job_on__lte=as_of - timedelta(days=silent_since_days))
        .order_by("pk")
    )


def call_lists_listed(*, scope: Scope) -> QuerySet[CallList]:
    """Call lists in scope, the newest first, each with how many calls are still to be made."""
    return (
        CallList.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("part_kind", "organisation")
        .annotate(
            drawn=Count("calls"),
            left=Count(
                "calls",
                filter=Q(calls__state__in=(CallState.WAITING, CallState.NOT_REACHED)),
            ),
        )
        .order_by("-drawn_on", "-pk")
    )


def call_lists_waiting(*, scope: Scope) -> QuerySet[CallList]:
    """Those of them with calls still to be made."""
    waiting = Call.objects.filter(state__in=(CallState.WAITING, CallState.NOT_REACHED))
    return call_lists_listed(scope=scope).filter(pk__in=waiting.values("call_list"))


def access_call_list(*, scope: Scope, call_list_id: int) -> CallList:
    """The list, for who may see it; Http404 else."""
    return access(call_lists_listed(scope=scope), scope=scope, pk=call_list_id)


def access_call(*, scope: Scope, call_id: int) -> Call:
    """The call, for who may see it; Http404 else."""
    calls = Call.objects.select_related(
        "call_list__organisation", "call_list__part_kind", "vehicle"
    )
    return access(calls, scope=scope, pk=call_id, owner="call_list__organisation_id")


def calls_of_list(*, call_list: CallList) -> list[tuple[Call, Keeper | None]]:
    """The calls in the order drawn, each with the vehicle's keeper now, if one is known."""
    calls = list(
        call_list.calls.select_related("vehicle__engine_family")
        .prefetch_related("vehicle__marks")
        .order_by("order")
    )
    keepers = {
        keeper.vehicle_id: keeper
        for keeper in Keeper.objects.filter(
            vehicle_id__in=[call.vehicle_id for call in calls], until_on__isnull=True
        )
    }
    return [(call, keepers.get(call.vehicle_id)) for call in calls]


def call_figures(*, call_list: CallList) -> CallFigures:
    """What the calls of this list came to."""
    answered = Q(state=CallState.ANSWERED)
    counts = call_list.calls.aggregate(
        drawn=Count("pk"),
        waiting=Count("pk", filter=Q(state=CallState.WAITING)),
        not_reached=Count("pk", filter=Q(state=CallState.NOT_REACHED)),
        declined=Count("pk", filter=Q(state=CallState.DECLINED)),
        answered=Count("pk", filter=answered),
        replaced_elsewhere=Count("pk", filter=answered & Q(part_replaced_elsewhere=True)),
        stayed_away=Count(
            "pk", filter=answered & Q(part_replaced_elsewhere=True, will_return=False)
        ),
        part_not_known=Count("pk", filter=answered & Q(part_replaced_elsewhere__isnull=True)),
    )
    return CallFigures(population=call_list.population, **counts)

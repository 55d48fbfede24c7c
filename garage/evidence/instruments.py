"""Instruments of a workshop, for who may see them."""

from django.db.models import Count, Prefetch, QuerySet

from garage.records.models import GaugePair, Instrument, Job, UnitConfirmed
from garage.records.permissions import Scope, access


def instruments_listed(*, scope: Scope) -> QuerySet[Instrument]:
    """All instruments in scope with the units confirmed of each, by organisation and name;
    `reading_count` is how many readings name it."""
    units = UnitConfirmed.objects.select_related("engine_family", "confirmed_by")
    return (
        Instrument.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("organisation")
        .prefetch_related(Prefetch("units", units))
        .annotate(reading_count=Count("readings"))
        .order_by("organisation__code", "name", "pk")
    )


def access_instrument(*, scope: Scope, instrument_id: int) -> Instrument:
    """The instrument, for who may see it; Http404 else."""
    return access(Instrument.objects.select_related("organisation"), scope=scope, pk=instrument_id)


def access_unit_confirmed(*, scope: Scope, confirmed_id: int) -> UnitConfirmed:
    """The confirmed unit, for who may see its instrument; Http404 else."""
    return access(
        UnitConfirmed.objects.select_related("instrument__organisation"),
        scope=scope,
        pk=confirmed_id,
        owner="instrument__organisation_id",
    )


def pairs_of_job(*, job: Job) -> QuerySet[GaugePair]:
    """The pairs of a job that the reader may see (`access_job`), in the order taken."""
    return job.gauge_pairs.select_related("instrument").order_by("pk")

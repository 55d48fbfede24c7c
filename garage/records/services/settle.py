"""Re-derive everything that follows from a vehicle's recorded facts."""

from collections.abc import Callable, Collection
from datetime import datetime

from django.db import connection, transaction
from django.db.models import F

from garage.background.services import work_enqueue
from garage.records.choices import REFRESH
from garage.records.models import (
    Fitment,
    Job,
    OdometerReading,
    Operation,
    Organisation,
    Vehicle,
)
from garage.records.services.fitments import fitments_derive
from garage.records.services.odometer import InstrumentOffsets, odometers_settle
from garage.records.signals import vehicles_settled

#: Vehicles a batch: their jobs and readings are held in memory together.
BATCH_VEHICLES = 900


def _unwatched(_more: int) -> None:
    """For nobody to watch."""


def vehicles_settle(
    *, vehicle_ids: Collection[int], advance: Callable[[int], object] = _unwatched
) -> None:
    """Settle odometers, then fitments, of these vehicles, all or none.

    Every change of a vehicle's facts ends here, so here the version of its organisation's records
    is counted up. `advance` is told how many more are done.
    """
    ordered = sorted(vehicle_ids)
    with transaction.atomic():
        if len(ordered) > BATCH_VEHICLES:
            _tables_analyze()
        for start in range(0, len(ordered), BATCH_VEHICLES):
            batch = ordered[start : start + BATCH_VEHICLES]
            offsets = InstrumentOffsets(batch)
            km_at_jobs = odometers_settle(vehicle_ids=batch, offsets=offsets)
            fitments_derive(vehicle_ids=batch, offsets=offsets, km_at_jobs=km_at_jobs)
            owners = Vehicle.objects.filter(pk__in=batch).values("organisation_id")
            Organisation.objects.filter(pk__in=owners).update(
                records_version=F("records_version") + 1
            )
            vehicles_settled.send(sender=Vehicle, vehicle_ids=batch)
            advance(len(batch))


def _tables_analyze() -> None:
    """Let PostgreSQL count what this transaction wrote.

    Nobody else can before it is committed, and without a count each batch reads whole tables.
    """
    if connection.vendor != "postgresql":
        return
    quote = connection.ops.quote_name
    models = (Vehicle, OdometerReading, Job, Operation, Fitment)
    tables = ", ".join(quote(model._meta.db_table) for model in models)
    with connection.cursor() as cursor:
        # Where another import counts the same tables, this one does not wait for its end.
        cursor.execute(f"ANALYZE (SKIP_LOCKED) {tables}")


def vehicles_changed(*, vehicle_ids: Collection[int], at: datetime) -> None:
    """Settle these vehicles after a person changed their facts, and queue new figures of them."""
    with transaction.atomic():
        vehicles_settle(vehicle_ids=vehicle_ids)
        owners = Organisation.objects.filter(vehicles__pk__in=vehicle_ids).distinct()
        for code in owners.order_by("code").values_list("code", flat=True):
            work_enqueue(kind=REFRESH, arguments={"organisation": code}, now=at)

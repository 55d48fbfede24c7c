"""The visits of a vehicle before a job, with what was read and done at them."""

from collections.abc import Iterable

from django.db.models import Q

from garage.records.models import Job, OdometerReading


def visits_before(*, job: Job, organisation_ids: Iterable[int]) -> list[Job]:
    """Earlier jobs of the same vehicle in view, the newest first; each with its odometer, codes and
    operations read along."""
    earlier = Q(opened_on__lt=job.opened_on) | Q(opened_on=job.opened_on, pk__lt=job.pk)
    return list(
        Job.objects.filter(
            earlier, vehicle_id=job.vehicle_id, organisation_id__in=list(organisation_ids)
        )
        .select_related("reading")
        .prefetch_related("codes_read", "operations")
        .order_by("-opened_on", "-pk")
    )


def odometer_of(job: Job) -> OdometerReading | None:
    """What the odometer showed at a job; None where it was not written down."""
    reading: OdometerReading | None = getattr(job, "reading", None)
    return reading


def trusted_km(job: Job) -> int | None:
    """The distance at a job in km; None where it was not written down, or stands in doubt."""
    reading = odometer_of(job)
    return None if reading is None or reading.doubt else reading.km

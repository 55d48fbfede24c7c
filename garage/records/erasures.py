"""What an erasure would take of a vehicle, and the reports of those that were made."""

from django.db.models import Q, QuerySet

from garage.records.models import Document, Erasure, Job, Keeper, Organisation, Vehicle


def personal_held(vehicle: Vehicle) -> dict[str, int]:
    """How much of each kind of personal data is held of this vehicle; what is not held is left
    out."""
    jobs = Job.objects.filter(vehicle=vehicle)
    documents = Document.objects.filter(
        Q(job__vehicle=vehicle) | Q(claim__failed_at__vehicle=vehicle)
    )
    held = {
        "keepers": Keeper.objects.filter(vehicle=vehicle).count(),
        "registration marks": vehicle.marks.count(),
        "VINs": int(bool(vehicle.vin)),
        "photos and papers": documents.count(),
        "jobs whose references and free texts go": jobs.count(),
    }
    return {what: count for what, count in held.items() if count}


def erasures_listed(*, organisation: Organisation) -> QuerySet[Erasure]:
    """The reports of one organisation's erasures, the newest first."""
    return (
        Erasure.objects.filter(organisation=organisation)
        .select_related("by")
        .order_by("-at", "-pk")
    )

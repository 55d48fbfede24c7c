"""Which tables are being mapped, and which sources have a confirmed mapping."""

from django.db.models import QuerySet

from garage.records.models import ImportSource, TableUpload
from garage.records.permissions import Scope, access


def uploads_listed(*, scope: Scope) -> QuerySet[TableUpload]:
    """Tables under way, the newest first."""
    return (
        TableUpload.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("organisation")
        .order_by("-uploaded_at", "-pk")
    )


def access_upload(*, scope: Scope, upload_id: int) -> TableUpload:
    """The table under way, for who may see it; Http404 else."""
    return access(TableUpload.objects.select_related("organisation"), scope=scope, pk=upload_id)


def sources_listed(*, scope: Scope) -> QuerySet[ImportSource]:
    """Sources whose mapping a person confirmed, by name."""
    return (
        ImportSource.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("organisation", "confirmed_by")
        .order_by("name", "organisation__code")
    )

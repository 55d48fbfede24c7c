"""What an organisation says that trouble codes mean, on one engine family or on all."""

from collections.abc import Mapping

from django.db.models import F, Q, QuerySet

from garage.evidence.codes.meanings import Meaning
from garage.records.models import OwnCodeWording
from garage.records.permissions import Scope, access


def own_meanings(organisation_id: int, engine_family_id: int | None) -> Mapping[str, Meaning]:
    """Which codes have words of this organisation's own, on vehicles of an engine family?

    By code as printed without a failure type, for `meaning_of`. The family's own words take the
    place of those for all families; without a family (None) those for all hold.
    """
    rows = (
        OwnCodeWording.objects.filter(organisation_id=organisation_id)
        .filter(Q(engine_family__isnull=True) | Q(engine_family_id=engine_family_id))
        .order_by(F("engine_family_id").asc(nulls_first=True))
    )
    return {row.code: Meaning(row.code, row.words, row.group, row.source) for row in rows}


def own_wordings_listed(*, scope: Scope) -> QuerySet[OwnCodeWording]:
    """All own wordings in scope with whose they are, by code: those for all families first."""
    return (
        OwnCodeWording.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("organisation", "engine_family")
        .order_by("code", "organisation__code", F("engine_family__name").asc(nulls_first=True))
    )


def access_own_wording(*, scope: Scope, wording_id: int) -> OwnCodeWording:
    """The own wording, for who may see it; Http404 else."""
    rows = OwnCodeWording.objects.select_related("organisation", "engine_family")
    return access(rows, scope=scope, pk=wording_id)

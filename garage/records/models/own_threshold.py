"""A limit of an organisation's own, in place of the one shipped."""

from django.db import models

from garage.records.models.engine_family import EngineFamily
from garage.records.models.organisation import Organisation


class OwnThreshold(models.Model):
    """An organisation's own limit, on one engine family or on all, and who says so."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="own_thresholds"
    )
    engine_family = models.ForeignKey(
        EngineFamily, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    key = models.CharField(max_length=60)
    value = models.FloatField()
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["organisation_id", "key", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "key", "engine_family"], name="own_threshold_once"
            ),
            models.UniqueConstraint(
                fields=["organisation", "key"],
                condition=models.Q(engine_family__isnull=True),
                name="own_threshold_once_for_all",
            ),
            models.CheckConstraint(
                condition=~models.Q(key="") & ~models.Q(source=""), name="own_threshold_has_source"
            ),
        ]

    def __str__(self) -> str:
        return f"own threshold {self.pk}"

"""What personal data was erased, when and why: the report of an erasure."""

from django.conf import settings
from django.db import models

from garage.records.choices import ErasureBecause
from garage.records.models.organisation import Organisation


class Erasure(models.Model):
    """One erasure. `erased` counts what went, by kind; it holds no personal data itself."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="erasures"
    )
    because = models.CharField(max_length=10, choices=ErasureBecause.choices)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    vehicle_ids = models.JSONField(help_text="Keys of the vehicles whose personal data went.")
    erased = models.JSONField()

    class Meta:
        ordering = ["organisation_id", "-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(because__in=ErasureBecause.values),
                name="erasure_because_known",
            ),
        ]

    def __str__(self) -> str:
        return f"erasure {self.pk}"

"""Where an organisation's files come from, and how they are read."""

from django.conf import settings
from django.db import models

from garage.records.models.organisation import Organisation


class ImportSource(models.Model):
    """A source of files with the mapping a person has confirmed for it."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="import_sources"
    )
    name = models.CharField(max_length=80)
    mapping = models.JSONField(help_text="garage.records.tabular.mapping, as saved.")
    confirmed_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["organisation_id", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "name"], name="import_source_name_once"
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="import_source_named"),
        ]

    def __str__(self) -> str:
        return f"import source {self.pk}"

"""One run of bringing an organisation's files in."""

from django.conf import settings
from django.db import models

from garage.records.choices import ImportState
from garage.records.models.import_source import ImportSource
from garage.records.models.organisation import Organisation


class ImportRun(models.Model):
    """One import on its way or over. Nothing of it is visible before it is done."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="import_runs"
    )
    source = models.ForeignKey(
        ImportSource, null=True, blank=True, on_delete=models.SET_NULL, related_name="runs"
    )
    files = models.JSONField(help_text="Kind of file to the name it is stored under.")
    state = models.CharField(max_length=12, choices=ImportState.choices, default=ImportState.QUEUED)
    step = models.CharField(max_length=40, blank=True, help_text="What it is at, in words.")
    rows_total = models.PositiveIntegerField(default=0)
    rows_done = models.PositiveIntegerField(default=0)
    rows_rejected = models.PositiveIntegerField(default=0)
    cancel_asked = models.BooleanField(default=False)
    queued_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True, help_text="Last sign of life.")
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    summary = models.JSONField(null=True, blank=True)
    message = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["organisation_id", "-queued_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=ImportState.values), name="import_run_state_known"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "-queued_at"], name="import_run_by_day"),
        ]

    def __str__(self) -> str:
        return f"import run {self.pk}"

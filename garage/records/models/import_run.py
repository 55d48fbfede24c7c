"""One run of bringing an organisation's files in."""

from django.conf import settings
from django.db import models

from garage.records.choices import ImportState
from garage.records.models.organisation import Organisation
from garage.records.models.table_upload import TableUpload


class ImportRun(models.Model):
    """One import on its way or over; what it records is seen by nobody before it is done.

    How far it is stands in a file of its folder: on SQLite nobody else can write a row meanwhile.
    """

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="import_runs"
    )
    table = models.ForeignKey(
        TableUpload,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="runs",
        help_text="The table that is imported; empty for files of our own form.",
    )
    files = models.JSONField(help_text="Kind of file to its name, as it was sent.")
    folder = models.CharField(max_length=60, help_text="Its folder in the document storage.")
    dry_run = models.BooleanField(default=False)
    state = models.CharField(max_length=12, choices=ImportState.choices, default=ImportState.QUEUED)
    tries = models.PositiveSmallIntegerField(
        default=0, help_text="More than one: a worker was lost, and nothing of its try was kept."
    )
    queued_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    summary = models.JSONField(
        null=True, blank=True, help_text="garage.records.importing.told, once it is done."
    )
    message = models.TextField(blank=True, help_text="Why it was not done.")

    class Meta:
        ordering = ["organisation_id", "-queued_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=ImportState.values), name="import_run_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state=ImportState.DONE, summary__isnull=False)
                | (~models.Q(state=ImportState.DONE) & models.Q(summary__isnull=True)),
                name="import_run_summary_when_done",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    state__in=[ImportState.QUEUED, ImportState.RUNNING], ended_at__isnull=True
                )
                | (
                    ~models.Q(state__in=[ImportState.QUEUED, ImportState.RUNNING])
                    & models.Q(ended_at__isnull=False)
                ),
                name="import_run_ended_when_over",
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "-queued_at"], name="import_run_by_day"),
        ]

    def __str__(self) -> str:
        return f"import run {self.pk}"

    @property
    def is_over(self) -> bool:
        return self.state not in (ImportState.QUEUED, ImportState.RUNNING)

"""A report kept ready, so that no page waits for statistics."""

from django.db import models

from garage.records.models import PartKind

VIEW_KEY_LENGTH = 200
RECORDS_MARK_LENGTH = 400


class ReportSnapshot(models.Model):
    """The newest report of one view (a set of organisations) on one part kind."""

    view_key = models.CharField(
        max_length=VIEW_KEY_LENGTH,
        help_text="The ids of the organisations in view, sorted, with dashes.",
    )
    part_kind = models.ForeignKey(PartKind, on_delete=models.CASCADE, related_name="snapshots")
    records_mark = models.CharField(
        max_length=RECORDS_MARK_LENGTH,
        help_text="The records' versions it was made from: what makes it stale.",
    )
    as_of = models.DateField()
    made_at = models.DateTimeField()
    report = models.JSONField(help_text="The report in its wire form (docs/json.md).")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["view_key", "part_kind"], name="report_snapshot_once_per_view"
            ),
            models.CheckConstraint(
                condition=~models.Q(view_key=""), name="report_snapshot_names_its_view"
            ),
        ]

    def __str__(self) -> str:
        return f"snapshot {self.pk}"

"""Two records found to be one, and how to part them again."""

from django.conf import settings
from django.db import models

from garage.records.choices import MergedThing
from garage.records.models.organisation import Organisation


class Merge(models.Model):
    """A vehicle or job that was merged into another.

    `undo` keeps the row that went and the keys of what moved: enough to part them without loss.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="merges")
    thing = models.CharField(max_length=8, choices=MergedThing.choices)
    kept_id = models.PositiveBigIntegerField()
    gone_id = models.PositiveBigIntegerField()
    gone_ref = models.CharField(
        max_length=60, help_text="Its reference: a file that still names it means the one kept."
    )
    undo = models.JSONField()
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["organisation_id", "-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(thing__in=MergedThing.values), name="merge_thing_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(kept_id=models.F("gone_id")), name="merge_of_two"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "thing", "kept_id"], name="merge_by_kept"),
            models.Index(fields=["organisation", "thing", "gone_ref"], name="merge_by_gone_ref"),
        ]

    def __str__(self) -> str:
        return f"merge {self.pk}"


class NotDuplicate(models.Model):
    """A pair that a person has looked at and held to be two; `one_id` is the lower key."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="not_duplicates"
    )
    thing = models.CharField(max_length=8, choices=MergedThing.choices)
    one_id = models.PositiveBigIntegerField()
    other_id = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["organisation_id", "thing", "one_id", "other_id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "thing", "one_id", "other_id"], name="not_duplicate_once"
            ),
            models.CheckConstraint(
                condition=models.Q(one_id__lt=models.F("other_id")),
                name="not_duplicate_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"not duplicate {self.pk}"

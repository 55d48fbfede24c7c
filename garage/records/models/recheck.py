"""A recheck due after a filter operation."""

from django.db import models

from garage.records.choices import RecheckState
from garage.records.models.job import Job


class Recheck(models.Model):
    """Look at the vehicle again by this day or this distance, whichever comes first."""

    job = models.OneToOneField(
        Job, on_delete=models.CASCADE, related_name="recheck", help_text="The job it follows."
    )
    due_on = models.DateField()
    due_km = models.PositiveIntegerField(
        null=True, blank=True, help_text="Empty: no odometer stands at the job."
    )
    state = models.CharField(max_length=8, choices=RecheckState.choices, default=RecheckState.DUE)
    done_at = models.ForeignKey(
        Job, null=True, blank=True, on_delete=models.SET_NULL, related_name="rechecks_done"
    )
    ended_on = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["due_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=RecheckState.values), name="recheck_state_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(state=RecheckState.WAIVED) | ~models.Q(reason=""),
                name="recheck_waived_has_reason",
            ),
            models.CheckConstraint(
                condition=models.Q(state=RecheckState.DUE) | models.Q(ended_on__isnull=False),
                name="recheck_ended_has_day",
            ),
        ]
        indexes = [models.Index(fields=["state", "due_on"], name="recheck_by_due_day")]

    def __str__(self) -> str:
        return f"recheck {self.pk}"

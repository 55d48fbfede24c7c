"""A sequence of readings from a drive or a burn, kept as the table it came as."""

from django.conf import settings
from django.db import models

from garage.records.choices import JobPhase
from garage.records.models.job import Job


class DriveLogged(models.Model):
    """The text of a table with time; what it says is worked out anew whenever it is read."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="drives")
    title = models.CharField(max_length=120)
    phase = models.CharField(max_length=10, choices=JobPhase.choices)
    text = models.TextField()
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        verbose_name_plural = "drives logged"
        ordering = ["job_id", "id"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(text=""), name="drive_has_a_table"),
            models.CheckConstraint(
                condition=models.Q(phase__in=JobPhase.values), name="drive_phase_known"
            ),
        ]

    def __str__(self) -> str:
        return f"drive logged {self.pk}"

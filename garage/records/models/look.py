"""A visit at which nobody looked whether the part in place is the one last recorded."""

from django.db import models

from garage.records.models.job import Job
from garage.records.models.part_kind import PartKind


class LookMissed(models.Model):
    """The form asked and the answer was: not looked. A look that was taken is an operation with
    `found_in_place`."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="looks_missed")
    part_kind = models.ForeignKey(PartKind, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "looks missed"
        ordering = ["job_id", "part_kind_id"]
        constraints = [
            models.UniqueConstraint(fields=["job", "part_kind"], name="look_missed_once_per_job"),
        ]

    def __str__(self) -> str:
        return f"look missed {self.pk}"

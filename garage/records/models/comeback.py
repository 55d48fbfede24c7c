"""What a person said of a job that may be the comeback of an earlier one."""

from django.conf import settings
from django.db import models

from garage.records.choices import ComebackState
from garage.records.models.job import Job


class ComebackReview(models.Model):
    """A comeback proposed when a job was opened, and the answer of a person.

    The statistics count comebacks by their rule (garage.outcomes.comebacks); a refusal here, with
    its reason, takes the pair out of the count.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="comeback_reviews")
    index_job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="comebacks_proposed")
    state = models.CharField(
        max_length=10, choices=ComebackState.choices, default=ComebackState.PROPOSED
    )
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ["job_id", "index_job_id"]
        constraints = [
            models.UniqueConstraint(fields=["job", "index_job"], name="comeback_review_once"),
            models.CheckConstraint(
                condition=models.Q(state__in=ComebackState.values),
                name="comeback_review_state_known",
            ),
            models.CheckConstraint(
                condition=~models.Q(state=ComebackState.REFUSED) | ~models.Q(reason=""),
                name="comeback_review_refusal_has_reason",
            ),
            models.CheckConstraint(
                condition=~models.Q(job=models.F("index_job")),
                name="comeback_review_of_another_job",
            ),
        ]

    def __str__(self) -> str:
        return f"comeback review {self.pk}"

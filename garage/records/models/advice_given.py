"""What was advised at a job, and what the customer chose or declined."""

from django.db import models

from garage.records.choices import CustomerAnswer
from garage.records.models.job import Job


class AdviceGiven(models.Model):
    """One piece of advice; the answer with its time and the name of who gave it."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="advice_given")
    line = models.PositiveIntegerField(help_text="Order within the job, from 1.")
    text = models.CharField(max_length=500)
    answer = models.CharField(
        max_length=10, choices=CustomerAnswer.choices, default=CustomerAnswer.OPEN
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.CharField(
        max_length=80, blank=True, help_text="The name of who chose or declined."
    )

    class Meta:
        verbose_name_plural = "advice given"
        ordering = ["job_id", "line"]
        constraints = [
            models.UniqueConstraint(fields=["job", "line"], name="advice_given_line_once_per_job"),
            models.CheckConstraint(condition=~models.Q(text=""), name="advice_given_has_text"),
            models.CheckConstraint(
                condition=models.Q(answer__in=CustomerAnswer.values),
                name="advice_given_answer_known",
            ),
            models.CheckConstraint(
                condition=models.Q(answer=CustomerAnswer.OPEN)
                | (models.Q(answered_at__isnull=False) & ~models.Q(answered_by="")),
                name="advice_given_answer_has_time_and_name",
            ),
        ]

    def __str__(self) -> str:
        return f"advice {self.pk}"

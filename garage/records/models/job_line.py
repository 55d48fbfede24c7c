"""What persons said job lines mean, and the lines that wait for them."""

from django.conf import settings
from django.db import models

from garage.records.choices import LineStatus, OperationKind, System
from garage.records.models.organisation import Organisation
from garage.records.models.part_kind import PartKind


class LineAnswer(models.Model):
    """What a person said a phrase on a job line means, for this organisation from then on."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="line_answers"
    )
    phrase = models.CharField(max_length=300, help_text="The line as the classifier folds it.")
    status = models.CharField(max_length=12, choices=LineStatus.choices)
    operation = models.CharField(max_length=24, blank=True, choices=OperationKind.choices)
    part_kind = models.ForeignKey(
        PartKind, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    system = models.CharField(max_length=24, blank=True, choices=System.choices)
    answered_at = models.DateTimeField()
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["organisation_id", "phrase", "id"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(phrase=""), name="line_answer_has_phrase"),
            models.CheckConstraint(
                condition=models.Q(status__in=LineStatus.values), name="line_answer_status_known"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "phrase"], name="line_answer_by_phrase"),
        ]

    def __str__(self) -> str:
        return f"line answer {self.pk}"


class LineToReview(models.Model):
    """A job line that the classifier would not decide alone."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="lines_to_review"
    )
    phrase = models.CharField(max_length=300, help_text="The line as the classifier folds it.")
    example = models.CharField(max_length=500, help_text="The line as it was written, once.")
    seen = models.PositiveIntegerField(default=1, help_text="How often it occurs.")
    guess = models.JSONField(help_text="What the classifier made of it.")
    answered = models.BooleanField(default=False)

    class Meta:
        verbose_name_plural = "lines to review"
        ordering = ["organisation_id", "answered", "-seen", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "phrase"], name="line_to_review_phrase_once"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "answered", "-seen"], name="line_to_review_queue")
        ]

    def __str__(self) -> str:
        return f"line to review {self.pk}"

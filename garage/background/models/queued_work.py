"""Work to be done outside a request: the row is the truth, the broker's message only a nudge."""

from django.db import models
from django.db.models import Q

from garage.background.choices import WorkState

_OVER = [WorkState.DONE, WorkState.FAILED]


class QueuedWork(models.Model):
    """One piece of work and what became of it."""

    kind = models.CharField(max_length=80)
    arguments = models.JSONField(default=dict)
    dedupe_key = models.CharField(max_length=130)
    state = models.CharField(
        max_length=8, choices=WorkState.choices, default=WorkState.QUEUED.value
    )
    queued_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    worker = models.CharField(max_length=200, blank=True, default="")
    error = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="queued_work_state_known", condition=Q(state__in=WorkState.values)
            ),
            models.CheckConstraint(name="queued_work_kind_given", condition=~Q(kind="")),
            models.CheckConstraint(name="queued_work_key_given", condition=~Q(dedupe_key="")),
            models.UniqueConstraint(
                name="queued_work_one_queued_per_key",
                fields=["dedupe_key"],
                condition=Q(state=WorkState.QUEUED),
            ),
            models.UniqueConstraint(
                name="queued_work_one_running_per_key",
                fields=["dedupe_key"],
                condition=Q(state=WorkState.RUNNING),
            ),
            models.CheckConstraint(
                name="queued_work_started_unless_queued",
                condition=Q(state=WorkState.QUEUED, started_at__isnull=True)
                | (~Q(state=WorkState.QUEUED) & Q(started_at__isnull=False)),
            ),
            models.CheckConstraint(
                name="queued_work_finished_when_over",
                condition=Q(state__in=_OVER, finished_at__isnull=False)
                | (~Q(state__in=_OVER) & Q(finished_at__isnull=True)),
            ),
            models.CheckConstraint(
                name="queued_work_finished_not_before_started",
                condition=Q(finished_at__isnull=True) | Q(finished_at__gte=models.F("started_at")),
            ),
            models.CheckConstraint(
                name="queued_work_error_when_failed",
                condition=(Q(state=WorkState.FAILED) & ~Q(error=""))
                | (~Q(state=WorkState.FAILED) & Q(error="")),
            ),
        ]
        indexes = [models.Index(fields=["state", "queued_at"], name="queued_work_by_state")]

    def __str__(self) -> str:
        return f"work {self.pk} ({self.kind}, {self.state})"

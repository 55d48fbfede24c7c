"""What was found at a job, what it turned out to be, and cautions that somebody confirmed."""

from django.conf import settings
from django.db import models

from garage.records.choices import EvidenceList, JobPhase
from garage.records.models.job import Job


class FindingSeen(models.Model):
    """A finding and its state, as somebody saw it; the newest of a job and phase stands."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="findings_seen")
    phase = models.CharField(max_length=10, choices=JobPhase.choices)
    finding = models.CharField(max_length=40)
    state = models.CharField(max_length=40)
    note = models.CharField(max_length=200, blank=True)
    seen_at = models.DateTimeField()
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        verbose_name_plural = "findings seen"
        ordering = ["job_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "phase", "finding"], name="finding_seen_once_per_phase"
            ),
            models.CheckConstraint(
                condition=~models.Q(finding="") & ~models.Q(state=""), name="finding_seen_said"
            ),
            models.CheckConstraint(
                condition=models.Q(phase__in=JobPhase.values), name="finding_seen_phase_known"
            ),
        ]

    def __str__(self) -> str:
        return f"finding seen {self.pk}"


class OutcomeConfirmed(models.Model):
    """What it was in the end, by one of the three lists: from this the likelihoods learn."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="outcomes_confirmed")
    list = models.CharField(max_length=10, choices=EvidenceList.choices)
    state = models.CharField(max_length=24)
    graded = models.JSONField(
        default=dict,
        blank=True,
        help_text="What readings, codes and logs of the arrival said by then, by finding.",
    )
    confirmed_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        verbose_name_plural = "outcomes confirmed"
        ordering = ["job_id", "list"]
        constraints = [
            models.UniqueConstraint(fields=["job", "list"], name="outcome_once_per_list"),
            models.CheckConstraint(
                condition=models.Q(list__in=EvidenceList.values), name="outcome_list_known"
            ),
            models.CheckConstraint(condition=~models.Q(state=""), name="outcome_state_said"),
        ]

    def __str__(self) -> str:
        return f"outcome confirmed {self.pk}"


class CautionConfirmed(models.Model):
    """Somebody says by name to have read the cautions of a procedure, before its step."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="cautions_confirmed")
    procedure = models.CharField(max_length=24)
    name = models.CharField(max_length=80)
    confirmed_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        verbose_name_plural = "cautions confirmed"
        ordering = ["job_id", "id"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(procedure="") & ~models.Q(name=""), name="caution_named"
            ),
        ]

    def __str__(self) -> str:
        return f"caution confirmed {self.pk}"

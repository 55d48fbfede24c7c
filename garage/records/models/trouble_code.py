"""Trouble codes as they were read at a job, their clearing, and an organisation's own wording."""

from django.db import models

from garage.records.choices import CodeScheme, CodeState, JobPhase
from garage.records.models.engine_family import EngineFamily
from garage.records.models.job import Job
from garage.records.models.organisation import Organisation


class TroubleCodeRead(models.Model):
    """One code with its state. `failure_type` and `status_byte` only where they were read."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="codes_read")
    scheme = models.CharField(max_length=16, choices=CodeScheme.choices)
    code = models.CharField(max_length=16, help_text="P2463, or 3251/0 for SPN and FMI.")
    failure_type = models.PositiveSmallIntegerField(null=True, blank=True)
    status_byte = models.PositiveSmallIntegerField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=CodeState.choices)
    phase = models.CharField(max_length=10, choices=JobPhase.choices)
    read_at = models.DateTimeField()
    ecu = models.CharField(max_length=40, blank=True, help_text="Controller it was read from.")
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by_name = models.CharField(max_length=80, blank=True, help_text="Who cleared it.")

    class Meta:
        verbose_name_plural = "trouble codes read"
        ordering = ["job_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "phase", "ecu", "code", "failure_type", "state"],
                name="code_read_once_per_phase",
            ),
            models.UniqueConstraint(
                fields=["job", "phase", "ecu", "code", "state"],
                condition=models.Q(failure_type__isnull=True),
                name="code_without_type_once_per_phase",
            ),
            models.CheckConstraint(condition=~models.Q(code=""), name="code_read_given"),
            models.CheckConstraint(
                condition=models.Q(scheme__in=CodeScheme.values), name="code_read_scheme_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=CodeState.values), name="code_read_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(phase__in=JobPhase.values), name="code_read_phase_known"
            ),
            models.CheckConstraint(
                condition=models.Q(failure_type__isnull=True) | models.Q(failure_type__lte=255),
                name="code_read_failure_type_is_a_byte",
            ),
            models.CheckConstraint(
                condition=models.Q(status_byte__isnull=True) | models.Q(status_byte__lte=255),
                name="code_read_status_is_a_byte",
            ),
            models.CheckConstraint(
                condition=models.Q(cleared_at__isnull=True, cleared_by_name="")
                | (models.Q(cleared_at__isnull=False) & ~models.Q(cleared_by_name="")),
                name="code_cleared_by_somebody",
            ),
        ]
        indexes = [models.Index(fields=["code", "job"], name="code_read_by_code")]

    def __str__(self) -> str:
        return f"trouble code read {self.pk}"


class OwnCodeWording(models.Model):
    """What an organisation says that a code means, on one engine family or on all."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="own_code_wordings"
    )
    engine_family = models.ForeignKey(
        EngineFamily, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    code = models.CharField(max_length=16)
    words = models.CharField(max_length=120)
    group = models.CharField(max_length=20, help_text="Loading, burn, sensor …")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["organisation_id", "code", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "code", "engine_family"], name="own_code_wording_once"
            ),
            models.UniqueConstraint(
                fields=["organisation", "code"],
                condition=models.Q(engine_family__isnull=True),
                name="own_code_wording_once_for_all",
            ),
            models.CheckConstraint(
                condition=~models.Q(code="") & ~models.Q(words="") & ~models.Q(source=""),
                name="own_code_wording_said",
            ),
        ]

    def __str__(self) -> str:
        return f"own code wording {self.pk}"
